import { sniffImage } from '../../../core/finish/map-image.ts';
import type { SuppliedCover } from '../../../core/picture/plan-layers.ts';
import { Problem } from '../../../core/problems.ts';
import { MODEL_PROBLEMS } from '../../../core/texts/problems/model.ts';
import { makeHead, pad4, readContainer } from '../../document/container.ts';
import { listExtensionsInUse } from '../../document/extensions.ts';
import type { BufferViewJson, Extensions, GltfJson, ImageJson, SamplerJson, TextureJson } from '../../document/json.ts';
import type { LoadedModel } from '../../document/read-accessor.ts';
import { listTextureUses } from '../../document/read-material.ts';
import { findImageBytes } from '../../document/stored-bytes.ts';
import { readModel } from '../../mend/read-model.ts';

/** Refers to metadata in the root of a document, which a material on its own does not have. */
const PACKETS = 'KHR_xmp_json_ld';

/**
 * Writes a GLB that holds one material of a model and what it refers to, unchanged: extensions, textures with their
 * transforms and texture coordinates, samplers, images byte for byte, names and extras. The same material gives the same
 * bytes, whichever model it comes from. An unknown extension is copied; of its references only textures are recognised, as
 * an `index` under a name that ends in “texture”.
 * @throws Problem `model-broken-reference` for an image whose bytes are not there
 */
export function extractMaterial(model: LoadedModel, index: number): Buffer {
  const source = model.json;
  const material = structuredClone(source.materials![index]!);
  dropPackets(material);
  const textures = new CopiedObjects<TextureJson>();
  const images = new CopiedObjects<ImageJson>();
  const samplers = new CopiedObjects<SamplerJson>();
  const views: BufferViewJson[] = [];
  const parts: Uint8Array[] = [];
  let length = 0;

  const copyImage = (at: number): number =>
    images.copy(at, () => {
      const bytes = findImageBytes(model, at);
      if (!bytes) throw noImage(at);
      const { uri: _, bufferView: __, ...rest }: ImageJson = structuredClone(source.images![at]!);
      views.push({ buffer: 0, byteOffset: length, byteLength: bytes.length });
      parts.push(bytes, new Uint8Array(pad4(bytes.length) - bytes.length));
      length += pad4(bytes.length);
      const mimeType = rest.mimeType ?? sniffImage(bytes) ?? 'application/octet-stream';
      const image: ImageJson & { extensions?: Extensions } = { ...rest, mimeType, bufferView: views.length - 1 };
      return dropPackets(image);
    });
  const copyTexture = (at: number): number =>
    textures.copy(at, () => {
      const texture = dropPackets(structuredClone(source.textures![at]!));
      if (texture.source !== undefined) texture.source = copyImage(texture.source);
      for (const extension of Object.values(texture.extensions ?? {})) {
        if (typeof extension.source === 'number') extension.source = copyImage(extension.source);
      }
      if (texture.sampler !== undefined) {
        const sampler = texture.sampler;
        texture.sampler = samplers.copy(sampler, () => structuredClone(source.samplers![sampler]!));
      }
      return texture;
    });
  for (const { info } of listTextureUses(material)) info.index = copyTexture(info.index);

  const json: GltfJson = { asset: { version: '2.0' }, materials: [material] };
  if (textures.list.length > 0) json.textures = textures.list;
  if (images.list.length > 0) json.images = images.list;
  if (samplers.list.length > 0) json.samplers = samplers.list;
  if (views.length > 0) {
    json.bufferViews = views;
    json.buffers = [{ byteLength: length }];
  }
  const used = [...listExtensionsInUse(json)].sort();
  const required = used.filter((name) => source.extensionsRequired?.includes(name));
  if (used.length > 0) json.extensionsUsed = used;
  if (required.length > 0) json.extensionsRequired = required;
  return Buffer.concat([makeHead(json, length), ...parts]);
}

/** Objects copied from the model, each once, in the order of their first use. */
class CopiedObjects<T> {
  readonly list: T[] = [];
  readonly #known = new Map<number, number>();

  copy(at: number, make: () => T): number {
    const known = this.#known.get(at);
    if (known !== undefined) return known;
    const made = make();
    const index = this.list.push(made) - 1;
    this.#known.set(at, index);
    return index;
  }
}

function dropPackets<T extends { extensions?: Extensions }>(object: T): T {
  if (!object.extensions || !(PACKETS in object.extensions)) return object;
  delete object.extensions[PACKETS];
  if (Object.keys(object.extensions).length === 0) delete object.extensions;
  return object;
}

function noImage(index: number): Problem {
  return new Problem('model-broken-reference', {
    detail: MODEL_PROBLEMS['model-broken-reference'].noImage(index),
    where: `/images/${index}`,
  });
}

/** Whether a file is a GLB of one material without meshes or nodes. Reads only its JSON. */
export async function holdsMaterial(path: string): Promise<boolean> {
  try {
    const { json } = await readContainer(path);
    return json.materials?.length === 1 && !json.meshes && !json.nodes;
  } catch (error) {
    if (error instanceof Problem) return false;
    throw error;
  }
}

const TRANSPARENT = ['KHR_materials_transmission', 'KHR_materials_volume', 'KHR_materials_diffuse_transmission'];

/** How the material of such a GLB covers objects behind it, and whether light passes through. Reads only its JSON. */
export async function readCover(path: string): Promise<SuppliedCover> {
  const { json } = await readModel(path);
  const { alphaMode, doubleSided = false, extensions = {} } = json.materials?.[0] ?? {};
  return {
    alphaMode: alphaMode === 'MASK' || alphaMode === 'BLEND' ? alphaMode : 'OPAQUE',
    doubleSided,
    transmits: TRANSPARENT.some((name) => Object.hasOwn(extensions, name)),
  };
}
