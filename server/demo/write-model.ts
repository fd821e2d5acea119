import { Document, type Material, NodeIO, type Texture } from '@gltf-transform/core';
import { type Mesh, makeTangents } from './geometry/mesh.ts';

/** The look of a part before any finish: linear colour, glTF roughness, maps of the part itself on `uv1`. */
interface PartMaterial {
  readonly name: string;
  readonly colour?: readonly [number, number, number];
  readonly roughness?: number;
  readonly metal?: number;
  readonly normal?: Uint8Array;
  readonly occlusion?: Uint8Array;
}

/** Maps that a part keeps under any finish. The model contains them, on `uv1`. */
export interface PartMaps {
  readonly normal: Uint8Array;
  readonly occlusion: Uint8Array;
}

interface Part {
  readonly name: string;
  readonly material: string;
  readonly mesh: Mesh;
}

/** Neutral primer, linear: light enough to judge a shape, and clearly not a finish. */
const PRIMER = [0.42, 0.42, 0.42] as const;

/** Writes parts as a GLB: one node per part under the product, one material per slot, one buffer. */
export async function writeModel(
  product: string,
  parts: readonly Part[],
  materials: readonly PartMaterial[],
): Promise<Uint8Array> {
  const document = new Document();
  document.getRoot().getAsset().generator = 'Dyeworks demo';
  const buffer = document.createBuffer();
  const textures = new Map<Uint8Array, Texture>();
  const texture = (bytes: Uint8Array, name: string): Texture => {
    const known = textures.get(bytes);
    if (known) return known;
    const made = document.createTexture(name).setImage(bytes).setMimeType('image/png');
    textures.set(bytes, made);
    return made;
  };
  const made = new Map<string, { material: Material; mapped: boolean; bumped: boolean }>();
  for (const { name, colour = PRIMER, roughness = 0.6, metal = 0, normal, occlusion } of materials) {
    const material = document
      .createMaterial(name)
      .setBaseColorFactor([...colour, 1])
      .setRoughnessFactor(roughness)
      .setMetallicFactor(metal);
    if (normal)
      material
        .setNormalTexture(texture(normal, `${name} normal`))
        .getNormalTextureInfo()!
        .setTexCoord(1);
    if (occlusion) {
      material
        .setOcclusionTexture(texture(occlusion, `${name} occlusion`))
        .getOcclusionTextureInfo()!
        .setTexCoord(1);
    }
    made.set(name, { material, mapped: normal !== undefined || occlusion !== undefined, bumped: normal !== undefined });
  }
  const root = document.createNode(product);
  const scene = document.createScene(product).addChild(root);
  document.getRoot().setDefaultScene(scene);
  for (const { name, material: materialName, mesh } of parts) {
    const { material, mapped, bumped } = made.get(materialName)!;
    const accessor = (type: 'VEC2' | 'VEC3' | 'VEC4' | 'SCALAR', array: Float32Array | Uint16Array | Uint32Array) =>
      document
        .createAccessor()
        .setType(type)
        .setArray(array as Float32Array<ArrayBuffer>)
        .setBuffer(buffer);
    const short = mesh.positions.length / 3 < 65536;
    const primitive = document
      .createPrimitive()
      .setMaterial(material)
      .setIndices(accessor('SCALAR', short ? Uint16Array.from(mesh.indices) : mesh.indices))
      .setAttribute('POSITION', accessor('VEC3', mesh.positions))
      .setAttribute('NORMAL', accessor('VEC3', mesh.normals))
      .setAttribute('TEXCOORD_0', accessor('VEC2', mesh.uv0));
    // a second UV set costs eight bytes per vertex, so only parts with maps of their own have it
    if (mapped) primitive.setAttribute('TEXCOORD_1', accessor('VEC2', mesh.uv1));
    if (bumped) primitive.setAttribute('TANGENT', accessor('VEC4', makeTangents(mesh)));
    const shape = document.createMesh(name).addPrimitive(primitive);
    root.addChild(document.createNode(name).setMesh(shape));
  }
  return new NodeIO().writeBinary(document);
}
