import { createReadStream } from 'node:fs';
import { open, stat } from 'node:fs/promises';
import { crc32 } from 'node:zlib';
import type { BundleSource } from '../actions/bundle-delivery.ts';
import type { DeliveryManifest } from '../core/delivery/delivery.ts';
import type { Models, PartedFile } from '../core/ports/models.ts';
import { readParts } from './read-parts.ts';
import type { StoredEntry } from './stored-zip.ts';

/** Chunks of stored files. */
const CHUNK_BYTES = 512 * 1024;

/** Plans each file of a bundle while the one before is read. */
export async function* listBundle(
  models: Models,
  { product, delivery }: DeliveryManifest,
  sources: readonly BundleSource[],
  modelPath: string,
): AsyncGenerator<StoredEntry> {
  const plan = (source: BundleSource) => planEntry(models, product, modelPath, source);
  let next = plan(sources[0]!);
  for (let at = 0; at < sources.length; at++) {
    const entry = await next;
    if (at + 1 < sources.length) {
      next = plan(sources[at + 1]!);
      next.catch(() => undefined); // awaited in the next round
    }
    yield { ...entry, name: `${product}-${delivery}/${toZipPath(entry.name)}` };
  }
}

async function planEntry(
  models: Models,
  product: string,
  modelPath: string,
  source: BundleSource,
): Promise<StoredEntry> {
  const work = { product };
  const name = source.form;
  if ('select' in source) {
    const { digest, ...parts } = await models.extract({ path: modelPath, ...source.select, digest: 'crc32' }, work);
    return { name, bytes: parts.bytes, crc32: Number.parseInt(digest, 16), open: () => readWhole(parts) };
  }
  if ('path' in source) {
    const { path } = source;
    const [{ size: bytes }, digest] = await Promise.all([stat(path), models.checksum(path, work)]);
    const read = () => createReadStream(path, { highWaterMark: CHUNK_BYTES });
    return { name, bytes, crc32: Number.parseInt(digest, 16), open: read };
  }
  const text = Buffer.from(source.text, 'utf8');
  return { name, bytes: text.length, crc32: crc32(text), open: () => [text] };
}

async function* readWhole(parts: PartedFile): AsyncGenerator<Uint8Array> {
  const file = await open(parts.path, 'r');
  try {
    yield* readParts(parts, file, 0, parts.bytes);
  } finally {
    await file.close();
  }
}

/** Names that Windows keeps for devices, whatever their ending. */
const DEVICE = /^(con|prn|aux|nul|com\d|lpt\d)(?=\.)/i;

/** A path that every system can unpack. Codes have no character that one of them forbids, but may name a device. */
function toZipPath(form: string): string {
  return form
    .split('/')
    .map((part) => part.replace(DEVICE, '$1_'))
    .join('/');
}
