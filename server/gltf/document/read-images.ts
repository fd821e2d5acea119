import { createHash } from 'node:crypto';
import { type FileHandle, open } from 'node:fs/promises';
import type { Container } from './container.ts';
import { readDataUri } from './data-uri.ts';

type Source = Pick<Container, 'json' | 'bin'>;

/** An image's bytes out of a file, from its buffer view or data URI; null when they are not plainly there. */
export async function readImageBytes(file: FileHandle, { json, bin }: Source, index: number): Promise<Buffer | null> {
  const { uri, bufferView } = json.images![index]!;
  if (uri !== undefined) return readDataUri(uri);
  const view = bufferView === undefined ? undefined : json.bufferViews![bufferView];
  if (!view || !bin || view.buffer !== 0) return null;
  const bytes = Buffer.alloc(view.byteLength);
  await file.read(bytes, 0, bytes.length, bin.offset + (view.byteOffset ?? 0));
  return bytes;
}

export function digestImage(bytes: Uint8Array): string {
  return createHash('sha256').update(bytes).digest('hex');
}

/**
 * Digests of those images of a file that stay and may be the same as one that is to be added: only images of a length
 * that is to be added are read.
 */
export async function digestLiveImages(
  path: string,
  source: Source,
  live: Iterable<number>,
  lengths: ReadonlySet<number>,
): Promise<Map<string, number>> {
  const digests = new Map<string, number>();
  const { json } = source;
  const alike = [...live].filter((index) => {
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
