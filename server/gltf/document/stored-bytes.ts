import { createHash } from 'node:crypto';
import { type FileHandle, open } from 'node:fs/promises';
import type { Container } from './container.ts';
import { COMPONENT_BYTES, type GltfJson, MESHOPT, TYPE_COMPONENTS } from './json.ts';
import type { LoadedModel } from './read-accessor.ts';

/** Bytes of one buffer, from `start` to before `end`. */
export interface ByteRange {
  readonly buffer: number;
  readonly start: number;
  readonly end: number;
}

/** Exporters align data to 4, 8 or 16 bytes; only longer gaps are unused. */
const PADDING = 16;

/** Bytes of an accessor's unpacked values, without stride. */
export function accessorBytes(json: GltfJson, index: number): number {
  const { componentType, type, count } = json.accessors![index]!;
  return (COMPONENT_BYTES[componentType] ?? 0) * (TYPE_COMPONENTS[type] ?? 0) * count;
}

/** The range of a buffer view's bytes in the file: for a meshopt view, of the compressed bytes. */
export function storedRange(json: GltfJson, view: number): ByteRange {
  const plain = json.bufferViews![view]!;
  const name = MESHOPT.find((candidate) => plain.extensions?.[candidate]);
  const { buffer, byteOffset = 0, byteLength } = (name ? plain.extensions![name] : plain) as typeof plain;
  return { buffer, start: byteOffset, end: byteOffset + byteLength };
}

/** Ranges of buffer 0 that these buffer views read, by their start. */
export function listReadRanges(json: GltfJson, views: Iterable<number>): (ByteRange & { readonly view: number })[] {
  return [...views]
    .map((view) => ({ ...storedRange(json, view), view }))
    .filter(({ buffer }) => buffer === 0)
    .sort((a, b) => a.start - b.start);
}

/** Bytes of buffer 0 that none of these views reads, without gaps for alignment. */
export function countUnreadBytes(json: GltfJson, length: number, views: Iterable<number>): number {
  let unread = 0;
  let read = 0;
  for (const { start, end } of listReadRanges(json, views)) {
    if (start - read >= PADDING) unread += start - read;
    read = Math.max(read, end);
  }
  return length - read >= PADDING ? unread + length - read : unread;
}

type Source = Pick<Container, 'json' | 'bin'>;

/** The bytes of a data URI (RFC 2397), base64 or percent-encoded; null for any other text. */
export function readDataUri(uri: string): Buffer | null {
  const comma = uri.indexOf(',');
  if (!uri.startsWith('data:') || comma < 0) return null;
  const body = uri.slice(comma + 1);
  if (/;base64$/i.test(uri.slice(0, comma))) return Buffer.from(body, 'base64');
  return Buffer.from(
    body.replace(/%([0-9a-f]{2})/gi, (_, hex: string) => String.fromCharCode(Number.parseInt(hex, 16))),
    'latin1',
  );
}

/** The bytes of an image of a model in memory, from its buffer view or data URI; null when the model does not hold them. */
export function findImageBytes({ json, bin, views }: LoadedModel, index: number): Buffer | null {
  const { uri, bufferView } = json.images![index]!;
  if (uri !== undefined) return readDataUri(uri);
  const added = bufferView === undefined ? undefined : views?.get(bufferView);
  if (added) return added;
  const view = bufferView === undefined ? undefined : json.bufferViews![bufferView]!;
  if (!view || !bin || view.buffer !== 0) return null;
  return bin.subarray(view.byteOffset ?? 0, (view.byteOffset ?? 0) + view.byteLength);
}

/** The same from an open file; reads only these bytes. */
export async function readImageBytes(file: FileHandle, { json, bin }: Source, index: number): Promise<Buffer | null> {
  const { uri, bufferView } = json.images![index]!;
  if (uri !== undefined) return readDataUri(uri);
  const view = bufferView === undefined ? undefined : json.bufferViews![bufferView];
  if (!view || !bin || view.buffer !== 0) return null;
  const bytes = Buffer.alloc(view.byteLength);
  await file.read(bytes, 0, bytes.length, bin.offset + (view.byteOffset ?? 0));
  return bytes;
}

/** SHA-256 of an image, in hexadecimal. */
export function digestImage(bytes: Uint8Array): string {
  return createHash('sha256').update(bytes).digest('hex');
}

/**
 * Digests of the images of a file that a new image may repeat. Only an image as long as a new one can be the same, so only
 * those are read.
 * @param candidates indices of the images that stay in the file
 * @param lengths lengths of the new images, in bytes
 * @returns the index of the first image with each digest
 */
export async function digestImagesOfLength(
  path: string,
  source: Source,
  candidates: Iterable<number>,
  lengths: ReadonlySet<number>,
): Promise<Map<string, number>> {
  const digests = new Map<string, number>();
  const { json } = source;
  const alike = [...candidates].filter((index) => {
    const { bufferView, uri } = json.images![index]!;
    return (
      lengths.size > 0 && (uri !== undefined || lengths.has(json.bufferViews?.[bufferView ?? -1]?.byteLength ?? -1))
    );
  });
  if (alike.length === 0) return digests;
  const file = await open(path, 'r');
  try {
    for (const index of alike) {
      const bytes = await readImageBytes(file, source, index);
      const digest = bytes && digestImage(bytes);
      if (digest && !digests.has(digest)) digests.set(digest, index);
    }
  } finally {
    await file.close();
  }
  return digests;
}
