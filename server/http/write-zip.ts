import { ZipFile } from 'yazl';

export interface ZipEntry {
  /** Path in the archive, with `/`. */
  readonly name: string;
  readonly bytes: Uint8Array;
}

/**
 * The first day a zip can state; what is in it is told by names and digests, and the same files give the same bytes. It is
 * written as the local day it is made of, without the field that holds a moment.
 */
const OPTIONS = { mtime: new Date(1980, 0, 1), forceDosTimestamp: true, mode: 0o100644, compress: false };

/**
 * A zip of files that come one by one, written as they come and kept nowhere. Pictures are packed already and go in as they
 * are (method 0 of APPNOTE 6.3.10); one that comes to more than 4 GiB has the long fields of Zip64 (4.5.3 there).
 */
export async function* writeZip(entries: AsyncIterable<ZipEntry> | Iterable<ZipEntry>): AsyncGenerator<Uint8Array> {
  const zip = new ZipFile();
  const failed = new Promise<never>((_, reject) => zip.once('error', reject));
  failed.catch(() => undefined);
  const stream = zip.outputStream as NodeJS.ReadableStream & AsyncIterable<Uint8Array>;
  for await (const { name, bytes } of entries) {
    zip.addBuffer(Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength), name, OPTIONS);
    // it writes in turns of its own, one file in each
    await Promise.race([failed, new Promise((resolve) => setImmediate(resolve))]);
    for (let chunk = stream.read(); chunk !== null; chunk = stream.read()) yield chunk as unknown as Uint8Array;
  }
  zip.end();
  yield* stream;
}
