import { pad4 } from '../document/container.ts';
import { isKnownExtension } from '../document/extensions.ts';
import { type GltfJson, MESHOPT } from '../document/json.ts';
import { visitReferences } from '../document/visit-references.ts';
import { collectParts, streamGlb } from '../write/stream-glb.ts';

/** How the bytes of a view are compressed with meshopt. */
export interface MeshoptView {
  readonly byteStride: number;
  readonly count: number;
  readonly mode: 'ATTRIBUTES' | 'TRIANGLES' | 'INDICES';
  readonly filter?: 'OCTAHEDRAL' | 'QUATERNION' | 'EXPONENTIAL';
  /** Compressed. */
  readonly bytes: Uint8Array;
}

/**
 * A file whose views get other bytes. Materials, nodes, images and accessors keep their numbers; only views that lost their last
 * reader go.
 */
export class ViewEdit {
  readonly json: GltfJson;
  readonly bin: Buffer | null;
  readonly #bytes = new Map<number, Uint8Array>();
  readonly #meshopt = new Map<number, MeshoptView>();
  readonly #readBefore: ReadonlySet<number>;

  constructor(json: GltfJson, bin: Buffer | null, added: ReadonlyMap<number, Buffer> = new Map()) {
    this.json = json;
    this.bin = bin;
    for (const [view, bytes] of added) this.#bytes.set(view, bytes);
    this.#readBefore = listReadViews(json);
  }

  /** Adds a view of buffer 0. */
  addView(bytes: Uint8Array, more: { readonly target?: number; readonly byteStride?: number } = {}): number {
    const index = (this.json.bufferViews ??= []).push({ buffer: 0, byteLength: bytes.byteLength, ...more }) - 1;
    this.#bytes.set(index, bytes);
    return index;
  }

  /** Gives a view of plain bytes, such as those of an image, others. */
  replaceView(index: number, bytes: Uint8Array): void {
    this.json.bufferViews![index]!.byteLength = bytes.byteLength;
    this.#bytes.set(index, bytes);
  }

  /** Adds a view whose bytes are in the file in meshopt. */
  addMeshoptView(packed: MeshoptView, more: { readonly target?: number } = {}): number {
    const { byteStride, count, mode } = packed;
    const stride = mode === 'ATTRIBUTES' ? { byteStride } : {};
    const view = { buffer: 0, byteLength: byteStride * count, ...stride, ...more };
    const index = (this.json.bufferViews ??= []).push(view) - 1;
    this.#meshopt.set(index, packed);
    return index;
  }

  /** Writes the file, hashes and syncs it. */
  async write(targetPath: string): Promise<{ readonly sha256: string; readonly bytes: number }> {
    this.#dropUnread();
    const { json, bin } = this;
    const chunk = collectParts();
    const places = new Map<string, number>();
    const fallback = this.#meshopt.size > 0 ? Math.max(1, json.buffers?.length ?? 0) : -1;
    let unpacked = 0;
    json.bufferViews?.forEach((view, index) => {
      const packed = this.#meshopt.get(index);
      if (packed) {
        const { bytes, filter, ...how } = packed;
        const offset = chunk.append(bytes);
        view.buffer = fallback;
        view.byteOffset = unpacked;
        unpacked = pad4(unpacked + view.byteLength);
        view.extensions = {
          ...view.extensions,
          [MESHOPT[0]]: { buffer: 0, byteOffset: offset, byteLength: bytes.length, ...how, ...(filter && { filter }) },
        };
        return;
      }
      // compressed views of the source are read from their own range
      const name = MESHOPT.find((candidate) => view.extensions?.[candidate]);
      const range = (name ? view.extensions![name] : view) as typeof view;
      if (range.buffer !== 0) return;
      const start = range.byteOffset ?? 0;
      const own = this.#bytes.get(index);
      const key = own ? `new ${index}` : `${start} ${range.byteLength}`;
      const offset = places.get(key) ?? chunk.append(own ?? bin!.subarray(start, start + range.byteLength));
      places.set(key, offset);
      range.byteOffset = offset;
    });
    if (chunk.length > 0) (json.buffers ??= [{ byteLength: 0 }])[0]!.byteLength = chunk.length;
    if (fallback >= 0) json.buffers!.push({ byteLength: unpacked, extensions: { [MESHOPT[0]]: { fallback: true } } });
    const { sha256, bytes } = await streamGlb(targetPath, json, { path: '', ranges: [] }, chunk.parts);
    return { sha256, bytes };
  }

  /** Views that nothing reads any more go, and the others move up. Views that nothing read before stay. */
  #dropUnread(): void {
    // an unknown extension may refer to views
    if (!(this.json.extensionsUsed ?? []).every(isKnownExtension)) return;
    const read = listReadViews(this.json);
    const views = this.json.bufferViews ?? [];
    const numbers = new Map<number, number>();
    const kept = views.filter((_, index) => {
      const isFreed = this.#readBefore.has(index) && !read.has(index);
      if (!isFreed) numbers.set(index, numbers.size);
      return !isFreed;
    });
    if (kept.length === views.length) return;
    visitReferences(this.json, ({ array, index, set }) => {
      if (array === 'bufferViews') set(numbers.get(index)!);
    });
    this.json.bufferViews = kept;
    for (const map of [this.#bytes, this.#meshopt] as Map<number, never>[]) {
      const moved = [...map].flatMap(([index, value]) =>
        numbers.has(index) ? [[numbers.get(index)!, value] as const] : [],
      );
      map.clear();
      for (const [index, value] of moved) map.set(index, value);
    }
  }
}

function listReadViews(json: GltfJson): Set<number> {
  const read = new Set<number>();
  visitReferences(json, ({ array, index }) => {
    if (array === 'bufferViews') read.add(index);
  });
  return read;
}
