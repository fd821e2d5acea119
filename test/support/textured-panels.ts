import { makeGlb } from './glb.ts';

/** The uses of an image in a material, in the order of the panels. */
export const USES = ['baseColor', 'normal', 'metallicRoughness', 'occlusion', 'emissive'] as const;

interface PanelImage {
  readonly bytes: Uint8Array;
  readonly type: string;
}

/**
 * Square panels in a row, half a metre each, with one material and one image each. KTX2 uses its extension.
 * @param bare refers to KTX2 as if it were PNG, without the extension
 */
export function makePanels(images: readonly PanelImage[], { bare = false } = {}): Buffer {
  const views: { buffer: 0; byteOffset: number; byteLength: number }[] = [];
  const parts: Buffer[] = [];
  let length = 0;
  const put = (bytes: Uint8Array) => {
    const padded = Buffer.alloc(Math.ceil(bytes.length / 4) * 4);
    padded.set(bytes);
    views.push({ buffer: 0, byteOffset: length, byteLength: bytes.length });
    parts.push(padded);
    length += padded.length;
    return views.length - 1;
  };
  const floats = (...values: number[]) => put(new Uint8Array(new Float32Array(values).buffer));
  const positions = floats(0, 0, 0, 0.5, 0, 0, 0, 0.5, 0, 0.5, 0.5, 0);
  const normals = floats(0, 0, 1, 0, 0, 1, 0, 0, 1, 0, 0, 1);
  const uvs = floats(0, 1, 1, 1, 0, 0, 1, 0);
  const corners = put(new Uint8Array(new Uint16Array([0, 1, 2, 2, 1, 3]).buffer));
  const isCompressed = ({ type }: PanelImage) => type === 'image/ktx2' && !bare;
  const json = {
    asset: { version: '2.0' },
    scene: 0,
    scenes: [{ nodes: images.map((_, i) => i) }],
    nodes: images.map((_, i) => ({ mesh: i, name: `Panel ${i}`, translation: [i * 0.6, 0, 0] })),
    meshes: images.map((_, i) => ({
      primitives: [{ attributes: { POSITION: 0, NORMAL: 1, TEXCOORD_0: 2 }, indices: 3, material: i }],
    })),
    materials: images.map((_, i) => {
      const use = USES[i % USES.length]!;
      const texture = { index: i };
      const name = `Cloth ${i}`;
      if (use === 'baseColor') return { name, pbrMetallicRoughness: { baseColorTexture: texture } };
      if (use === 'metallicRoughness') return { name, pbrMetallicRoughness: { metallicRoughnessTexture: texture } };
      return { name, [`${use}Texture`]: texture, ...(use === 'emissive' && { emissiveFactor: [1, 1, 1] }) };
    }),
    textures: images.map((image, i) =>
      isCompressed(image) ? { extensions: { KHR_texture_basisu: { source: i } } } : { source: i },
    ),
    images: images.map(({ bytes, type }) => ({ bufferView: put(bytes), mimeType: type })),
    accessors: [
      { bufferView: positions, componentType: 5126, count: 4, type: 'VEC3', min: [0, 0, 0], max: [0.5, 0.5, 0] },
      { bufferView: normals, componentType: 5126, count: 4, type: 'VEC3' },
      { bufferView: uvs, componentType: 5126, count: 4, type: 'VEC2' },
      { bufferView: corners, componentType: 5123, count: 6, type: 'SCALAR' },
    ],
    bufferViews: views,
    buffers: [{ byteLength: length }],
    ...(images.some(isCompressed) && {
      extensionsUsed: ['KHR_texture_basisu'],
      extensionsRequired: ['KHR_texture_basisu'],
    }),
  };
  return makeGlb(json, Buffer.concat(parts));
}
