import { Zip, ZipPassThrough } from 'fflate';

export interface ZipEntry {
  /** Path in the archive, with `/`. */
  readonly name: string;
  readonly bytes: Uint8Array;
}

/** The first day a zip can state; what is in it is told by names and digests, and the same files give the same bytes. */
const NO_DAY = new Date(1980, 0, 1);

/**
 * A zip of files that come one by one, written as they come and kept nowhere. Pictures are packed already and go in as they
 * are (method 0 of APPNOTE 6.3.10).
 */
export async function* writeZip(entries: AsyncIterable<ZipEntry> | Iterable<ZipEntry>): AsyncGenerator<Uint8Array> {
  const chunks: Uint8Array[] = [];
  let failure: Error | null = null;
  const zip = new Zip((error, chunk) => {
    if (error) failure = error;
    else chunks.push(chunk);
  });
  function* flush() {
    if (failure) throw failure;
    yield* chunks.splice(0);
  }
  for await (const { name, bytes } of entries) {
    const file = new ZipPassThrough(name);
    file.mtime = NO_DAY;
    zip.add(file);
    file.push(bytes, true);
    yield* flush();
  }
  zip.end();
  yield* flush();
}
