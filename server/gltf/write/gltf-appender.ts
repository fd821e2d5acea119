import type { Container } from '../document/container.ts';
import type { BufferViewJson, GltfJson, ImageJson, MaterialJson, TextureJson } from '../document/json.ts';
import { digestImage, digestImagesOfLength } from '../document/stored-bytes.ts';
import type { MaterialDocument } from '../materials/material-spec.ts';
import { makeShift, moveViews } from './plan-cuts.ts';
import type { Removals } from './plan-removals.ts';

/** A PNG of one white grey pixel, for indices of removed images that no new image takes. */
const WHITE_PIXEL = Buffer.from(
  'iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAAAAAA6fptVAAAACklEQVR4nGP4DwABAQEAsTj2FAAAAABJRU5ErkJggg==',
  'base64',
);

/** Adds materials, textures and images to a document, at the indices of removed ones first, and collects their bytes. */
export class GltfAppender {
  /** Bytes that follow those of the source in the BIN chunk. */
  readonly appended: Uint8Array[] = [];
  readonly materials: StableIndexArray<MaterialJson>;
  readonly #textures: StableIndexArray<TextureJson>;
  readonly #images: StableIndexArray<ImageJson>;
  readonly #views: StableIndexArray<BufferViewJson>;
  imageBytes = 0;
  #length: number;
  /** Images by SHA-256, since the same bytes are not written twice. */
  readonly #byDigest: Map<string, number>;
  /** Textures by their JSON. */
  readonly #byText = new Map<string, number>();

  /**
   * Starts to append to a source, and moves its buffer views to where the cuts leave their bytes.
   * @param newLengths lengths in bytes of the images that will be added; only old images of such a length are compared
   */
  static async open(
    sourcePath: string,
    source: Container,
    removals: Removals,
    newLengths: ReadonlySet<number>,
  ): Promise<GltfAppender> {
    const { json, bin } = source;
    const known = await digestImagesOfLength(sourcePath, source, removals.images, newLengths);
    moveViews(json, makeShift(removals.cuts));
    const hasBin = bin !== null || !json.buffers?.length;
    return new GltfAppender(json, removals, (bin?.length ?? 0) - removals.leftOutBytes, hasBin, known);
  }

  private constructor(
    private readonly json: GltfJson,
    { materials, textures, images, freedViews }: Removals,
    length: number,
    /** Whether a BIN chunk can take bytes. If not, buffer 0 is a data URI, and new images become data URIs too. */
    private readonly hasBin: boolean,
    known: ReadonlyMap<string, number>,
  ) {
    this.#byDigest = new Map(known);
    for (const index of textures) this.#byText.set(JSON.stringify(json.textures?.[index]), index);
    this.materials = new StableIndexArray(json.materials, (index) => !materials.has(index));
    this.#textures = new StableIndexArray(json.textures, (index) => !textures.has(index));
    this.#images = new StableIndexArray(json.images, (index) => !images.has(index));
    this.#views = new StableIndexArray(json.bufferViews, (index) => freedViews.has(index));
    this.#length = length;
  }

  /** Adds the images, samplers and textures of a document. Returns its materials, which refer to them and are not yet added. */
  addDocument(document: MaterialDocument): MaterialJson[] {
    const samplers = (document.json.samplers ?? []).map((sampler) => {
      const list = (this.json.samplers ??= []);
      const same = list.findIndex((other) => JSON.stringify(other) === JSON.stringify(sampler));
      return same >= 0 ? same : list.push(sampler) - 1;
    });
    const images = (document.json.images ?? []).map((image) => {
      const view = document.json.bufferViews![image.bufferView!]!;
      const start = view.byteOffset ?? 0;
      const { bufferView: _, mimeType, ...more } = image;
      return this.#addImage(document.bin.subarray(start, start + view.byteLength), mimeType!, more);
    });
    const textures = (document.json.textures ?? []).map((texture) => {
      const moved: TextureJson = structuredClone(texture);
      if (moved.source !== undefined) moved.source = images[moved.source]!;
      if (moved.sampler !== undefined) moved.sampler = samplers[moved.sampler]!;
      for (const extension of Object.values(moved.extensions ?? {})) {
        if (typeof extension.source === 'number') extension.source = images[extension.source];
      }
      // each supplied material is a document of its own, and several may have the same texture
      const written = JSON.stringify(moved);
      const same = this.#byText.get(written);
      if (same !== undefined) return same;
      const index = this.#textures.add(moved);
      this.#byText.set(written, index);
      return index;
    });
    return (document.json.materials ?? []).map((material) => moveTextures(structuredClone(material), textures));
  }

  /** Adds an image, and a texture with the sampler of the source's texture `like`. */
  addTexture(bytes: Uint8Array, mimeType: string, like: number): number {
    const source = this.#addImage(bytes, mimeType);
    const { sampler } = this.json.textures![like]!;
    return this.#textures.add(sampler === undefined ? { source } : { source, sampler });
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

  /** Writes the arrays back, with placeholders at indices that nothing took. */
  finish(): void {
    let placeholder: ImageJson | null = null;
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
      this.#images.finish(() => ({ ...(placeholder ??= this.#place(WHITE_PIXEL, 'image/png')) })),
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

/** Points every texture reference of a material to the new index of the texture. */
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

/**
 * Adds objects to one of a document's arrays: first at the indices of objects that nothing refers to any more, in ascending
 * order, then at the end. The indices of all other objects stay the same.
 */
class StableIndexArray<T extends object> {
  readonly #array: T[];
  readonly #free: number[];

  constructor(array: readonly T[] | undefined, isFree: (index: number) => boolean) {
    this.#array = [...(array ?? [])];
    this.#free = [...this.#array.keys()].filter(isFree);
  }

  add(value: T): number {
    const index = this.#free.shift() ?? this.#array.length;
    this.#array[index] = value;
    return index;
  }

  /**
   * The finished array. Free indices at its end are dropped; others get a placeholder.
   * @returns undefined for an empty array, which glTF does not allow
   */
  finish(placeholder: () => T): T[] | undefined {
    const free = new Set(this.#free);
    while (this.#array.length > 0 && free.has(this.#array.length - 1)) this.#array.pop();
    for (const index of free) if (index < this.#array.length) this.#array[index] = placeholder();
    return this.#array.length > 0 ? this.#array : undefined;
  }
}
