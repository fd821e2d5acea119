import { Readable } from 'node:stream';
import type { FastifyReply } from 'fastify';
import { ZipFile } from 'yazl';

export interface ZipEntry {
  /** Path in the archive, with `/`. */
  readonly name: string;
  readonly bytes: Uint8Array;
}

/**
 * Zips have no usable time: 1 January 1980 is the first that the format can state, so that the same files give the same
 * bytes. yazl writes the local date, without the extra field that holds a UTC time.
 */
const OPTIONS = { mtime: new Date(1980, 0, 1), forceDosTimestamp: true, mode: 0o100644, compress: false };

/** Sends a zip while its files are made, without storing it. Its file name has ASCII letters only. */
export function sendZip(reply: FastifyReply, name: string, entries: AsyncIterable<ZipEntry>): FastifyReply {
  return reply
    .type('application/zip')
    .header('cache-control', 'no-cache')
    .header('content-disposition', `attachment; filename="${name.replace(/[^\w.-]/g, '_')}.zip"`)
    .send(Readable.from(writeZip(entries)));
}

/**
 * A zip of files that arrive one by one, written as they arrive. Pictures are compressed already, so all files are stored
 * (method 0 of APPNOTE 6.3.10). An archive of more than 4 GiB gets the long fields of Zip64 (4.5.3 there).
 */
export async function* writeZip(entries: AsyncIterable<ZipEntry> | Iterable<ZipEntry>): AsyncGenerator<Uint8Array> {
  const zip = new ZipFile();
  const failed = new Promise<never>((_, reject) => zip.once('error', reject));
  failed.catch(() => undefined);
  const stream = zip.outputStream as NodeJS.ReadableStream & AsyncIterable<Uint8Array>;
  for await (const { name, bytes } of entries) {
    zip.addBuffer(Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength), name, OPTIONS);
    // yazl writes one file per turn of the event loop
    await Promise.race([failed, new Promise((resolve) => setImmediate(resolve))]);
    for (let chunk = stream.read(); chunk !== null; chunk = stream.read()) yield chunk as unknown as Uint8Array;
  }
  zip.end();
  yield* stream;
}
