import { createHash } from 'node:crypto';
import { createReadStream } from 'node:fs';
import { type Readable, Transform } from 'node:stream';
import { ZipFile } from 'yazl';
import type { CollectedFile, CollectedLine } from '../core/ports/archives.ts';
import { Problem } from '../core/problems.ts';
import { STORAGE_PROBLEMS } from '../core/texts/problems/storage.ts';

/** As in other zips: the same line gives the same bytes, but for the time in `archive.json`. */
const OPTIONS = { mtime: new Date(1980, 0, 1), forceDosTimestamp: true, mode: 0o100644 };

/**
 * Writes the archive of a line while it is read from disk, file by file. A file whose bytes do not match its digest ends the
 * stream with an error, so that a damaged archive is never complete.
 */
export function writeArchive({ statement, entries }: Pick<CollectedLine, 'statement' | 'entries'>): Readable {
  const zip = new ZipFile();
  const stream = zip.outputStream as Readable;
  zip.addBuffer(Buffer.from(statement.bytes), statement.name, { ...OPTIONS, compress: true });
  let current: Readable | null = null;
  // a caller that leaves leaves no file open
  stream.once('close', () => current?.destroy());
  for (const entry of entries) {
    const options = { ...OPTIONS, compress: entry.packed, size: entry.bytes };
    zip.addReadStreamLazy(entry.name, options, (give) => {
      const source = createReadStream(entry.path, { highWaterMark: 1024 * 1024 });
      current = source;
      const checked = source.pipe(checkDigest(entry));
      for (const each of [source, checked]) each.once('error', (error: Error) => stream.destroy(error));
      give(null, checked);
    });
  }
  zip.once('error', (error) => stream.destroy(error));
  zip.end();
  return stream;
}

function checkDigest({ sha256 }: CollectedFile): Transform {
  const hash = createHash('sha256');
  return new Transform({
    transform(chunk: Buffer, _encoding, done) {
      hash.update(chunk);
      done(null, chunk);
    },
    flush(done) {
      if (hash.digest('hex') === sha256) done();
      else done(new Problem('file-lost', { detail: STORAGE_PROBLEMS['file-lost'].call, received: sha256 }));
    },
  });
}
