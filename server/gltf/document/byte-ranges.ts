import { COMPONENT_BYTES, type GltfJson, MESHOPT, TYPE_COMPONENTS } from './json.ts';

/** Bytes of one buffer, from `start` up to but without `end`. */
export interface ByteRange {
  readonly buffer: number;
  readonly start: number;
  readonly end: number;
}

/** Exporters align what they write to 4, 8 or 16 bytes; only longer gaps are dead weight. */
const PADDING = 16;

/** Bytes of an accessor's values once unpacked, without any stride. */
export function accessorBytes(json: GltfJson, index: number): number {
  const { componentType, type, count } = json.accessors![index]!;
  return (COMPONENT_BYTES[componentType] ?? 0) * (TYPE_COMPONENTS[type] ?? 0) * count;
}

/** Where the file holds the bytes of a buffer view: for a meshopt view, the compressed bytes. */
export function storedRange(json: GltfJson, view: number): ByteRange {
  const plain = json.bufferViews![view]!;
  const name = MESHOPT.find((candidate) => plain.extensions?.[candidate]);
  const { buffer, byteOffset = 0, byteLength } = (name ? plain.extensions![name] : plain) as typeof plain;
  return { buffer, start: byteOffset, end: byteOffset + byteLength };
}

/** Ranges of buffer 0 that these buffer views read, by where they start. */
export function listReadRanges(json: GltfJson, views: Iterable<number>): (ByteRange & { readonly view: number })[] {
  return [...views]
    .map((view) => ({ ...storedRange(json, view), view }))
    .filter(({ buffer }) => buffer === 0)
    .sort((a, b) => a.start - b.start);
}

/** Bytes of buffer 0 that none of these views reads, gaps for alignment left aside. */
export function countUnreadBytes(json: GltfJson, length: number, views: Iterable<number>): number {
  let unread = 0;
  let read = 0;
  for (const { start, end } of listReadRanges(json, views)) {
    if (start - read >= PADDING) unread += start - read;
    read = Math.max(read, end);
  }
  return length - read >= PADDING ? unread + length - read : unread;
}
