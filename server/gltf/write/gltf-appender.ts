import { digestImage } from '../document/image-bytes.ts';
import type { BufferViewJson, GltfJson, ImageJson, MaterialJson, TextureJson } from '../document/json.ts';
import type { FinishKit } from '../materials/finish-material.ts';
import type { LiveObjects } from './find-referenced.ts';
import { placeholderPng } from './placeholder-png.ts';
import { IndexPool } from './stable-index-array.ts';

/** Puts new objects into the document's arrays and their bytes behind the source's. */
export class Merge {
  readonly appended: Uint8Array[] = [];
  readonly materials: IndexPool<MaterialJson>;
  readonly #textures: IndexPool<TextureJson>;
  readonly #images: IndexPool<ImageJson>;
  readonly #views: IndexPool<BufferViewJson>;
  imageBytes = 0;
  #length: number;
  readonly #byDigest: Map<string, number>;
  /** Textures that stay and those added, by their JSON. */
  readonly #byText = new Map<string, number>();

  constructor(
    private readonly json: GltfJson,
    live: LiveObjects,
    length: number,
    /** Whether bytes can be put behind the BIN chunk; else buffer 0 is a data URI and images become data URIs too. */
    private readonly hasBin: boolean,
    /** Digests of images that stay, to their indices: the same bytes are not written twice. */
    known: ReadonlyMap<string, number>,
  ) {
    this.#byDigest = new Map(known);
    for (const index of live.textures) this.#byText.set(JSON.stringify(json.textures?.[index]), index);
    this.materials = new IndexPool(json.materials, (index) => !live.materials.has(index));
    this.#textures = new IndexPool(json.textures, (index) => !live.textures.has(index));
    this.#images = new IndexPool(json.images, (index) => !live.images.has(index));
    this.#views = new IndexPool(json.bufferViews, (index) => live.freedViews.has(index));
    this.#length = length;
  }

  /** Takes over the kit's images, samplers and textures; returns its materials with their references moved. */
  addKit(kit: FinishKit): MaterialJson[] {
    const samplers = (kit.json.samplers ?? []).map((sampler) => {
      const list = (this.json.samplers ??= []);
      const same = list.findIndex((other) => JSON.stringify(other) === JSON.stringify(sampler));
      return same >= 0 ? same : list.push(sampler) - 1;
    });
    const images = (kit.json.images ?? []).map((image) => {
      const view = kit.json.bufferViews![image.bufferView!]!;
      const start = view.byteOffset ?? 0;
      const { bufferView: _, mimeType, ...more } = image;
      return this.#addImage(kit.bin.subarray(start, start + view.byteLength), mimeType!, more);
    });
    const textures = (kit.json.textures ?? []).map((texture) => {
      const moved: TextureJson = structuredClone(texture);
      if (moved.source !== undefined) moved.source = images[moved.source]!;
      if (moved.sampler !== undefined) moved.sampler = samplers[moved.sampler]!;
      for (const extension of Object.values(moved.extensions ?? {})) {
        if (typeof extension.source === 'number') extension.source = images[extension.source];
      }
      // supplied materials come one by one, and may well show the same texture
      const written = JSON.stringify(moved);
      const same = this.#byText.get(written);
      if (same !== undefined) return same;
      const index = this.#textures.add(moved);
      this.#byText.set(written, index);
      return index;
    });
    return (kit.json.materials ?? []).map((material) => moveTextures(structuredClone(material), textures));
  }

  /** Adds an image and a texture that samples it as another does. */
  addTexture(bytes: Uint8Array, mimeType: string, like: TextureJson): number {
    const source = this.#addImage(bytes, mimeType);
    return this.#textures.add(like.sampler === undefined ? { source } : { source, sampler: like.sampler });
  }

  #addImage(bytes: Uint8Array, mimeType: string, more: Omit<ImageJson, 'mimeType' | 'bufferView'> = {}): number {
    const digest = digestImage(bytes);
    const same = this.#byDigest.get(digest);
    if (same !== undefined) return same;
    this.imageBytes += bytes.length;
    const index = this.#images.add({ ...more, ...this.#place(bytes, mimeType) });
    this.#byDigest.set(digest, index);
    return index;
  }

  #place(bytes: Uint8Array, mimeType: string): ImageJson {
    if (!this.hasBin) return { uri: `data:${mimeType};base64,${Buffer.from(bytes).toString('base64')}` };
    return {
      mimeType,
      bufferView: this.#views.add({ buffer: 0, byteOffset: this.#append(bytes), byteLength: bytes.length }),
    };
  }

  #append(bytes: Uint8Array): number {
    const aligned = Math.ceil(this.#length / 4) * 4;
    if (aligned > this.#length) this.appended.push(new Uint8Array(aligned - this.#length));
    this.appended.push(bytes);
    this.#length = aligned + bytes.length;
    return aligned;
  }

  /** Writes the arrays back; placeholders stand where an index is held by nothing. */
  finish(): void {
    let dot: ImageJson | null = null;
    const { json } = this;
    setArray(
      json,
      'materials',
      this.materials.finish(() => ({})),
    );
    setArray(
      json,
      'textures',
      this.#textures.finish(() => ({})),
    );
    setArray(
      json,
      'images',
      this.#images.finish(() => ({ ...(dot ??= this.#place(placeholderPng(), 'image/png')) })),
    );
    setArray(
      json,
      'bufferViews',
      this.#views.finish(() => ({ buffer: 0, byteOffset: 0, byteLength: 1 })),
    );
    if (!this.hasBin) return;
    if (this.#length > 0) {
      const [first, ...rest] = json.buffers ?? [];
      json.buffers = [{ ...first, byteLength: this.#length }, ...rest];
    } else if (json.buffers?.length === 1) delete json.buffers;
  }
}

function setArray<K extends 'materials' | 'textures' | 'images' | 'bufferViews'>(
  json: GltfJson,
  key: K,
  value: GltfJson[K],
): void {
  if (value) json[key] = value;
  else delete json[key];
}

/** Points every texture reference of a kit's material at where the texture went. */
function moveTextures(material: MaterialJson, textures: readonly number[]): MaterialJson {
  const visit = (value: unknown): void => {
    if (typeof value !== 'object' || value === null) return;
    for (const [key, child] of Object.entries(value)) {
      if (key === 'extras') continue;
      const index = /texture$/i.test(key) ? (child as { index?: number } | null)?.index : undefined;
      if (index !== undefined) (child as { index: number }).index = textures[index]!;
      visit(child);
    }
  };
  visit(material);
  return material;
}
