import { crc32 } from 'node:zlib';
import { type Entry, openPromise } from 'yauzl';
import { Problem } from '../../core/problems.ts';
import { MODEL_PROBLEMS } from '../../core/texts/problems/model.ts';

/** Limits of an unpacked zip; a few kilobytes can unpack to petabytes. */
interface ArchiveLimits {
  readonly totalBytes: number;
  readonly files: number;
}

const ARCHIVE_LIMITS: ArchiveLimits = { totalBytes: 1024 * 1024 * 1024, files: 2000 };

interface Archive {
  /** Paths in the zip, with forward slashes. */
  readonly paths: readonly string[];
  /** Unpacks one file. Counts the actual bytes towards the limit, since the sizes stated in the zip may be wrong. */
  read(path: string): Promise<Buffer>;
  close(): void;
}

/**
 * Opens a zip and lists it.
 * @throws Problem `archive-unreadable`, `archive-path`, `archive-too-large`
 */
export async function openArchive(file: string, limits: ArchiveLimits = ARCHIVE_LIMITS): Promise<Archive> {
  const zip = await openPromise(file, { lazyEntries: true, autoClose: false, strictFileNames: true }).catch(unreadable);
  const entries = new Map<string, Entry>();
  let stated = 0;
  try {
    for await (const entry of zip.eachEntry()) {
      if (entry.fileName.endsWith('/')) continue;
      checkPath(entry.fileName);
      entries.set(entry.fileName, entry);
      stated += entry.uncompressedSize;
      if (entries.size > limits.files || stated > limits.totalBytes) tooLarge(limits);
    }
  } catch (error) {
    zip.close();
    throw error instanceof Problem ? error : unreadableProblem(error);
  }
  let unpacked = 0;
  return {
    paths: [...entries.keys()],
    async read(path) {
      const entry = entries.get(path);
      if (!entry)
        throw new Problem('archive-missing-file', {
          detail: MODEL_PROBLEMS['archive-missing-file'].entry(path),
          where: path,
        });
      const stream = await zip.openReadStreamPromise(entry).catch(unreadable);
      const chunks: Buffer[] = [];
      let crc = 0;
      try {
        for await (const chunk of stream) {
          unpacked += chunk.length;
          if (unpacked > limits.totalBytes) tooLarge(limits);
          crc = crc32(chunk, crc);
          chunks.push(chunk);
        }
        if (crc !== entry.crc32) damaged(path);
      } catch (error) {
        throw error instanceof Problem ? error : unreadableProblem(error);
      }
      return Buffer.concat(chunks);
    },
    close: () => zip.close(),
  };
}

/** PKWARE APPNOTE 6.3.10, §4.4.7: every entry states the CRC-32 of its bytes. */
function damaged(path: string): never {
  throw new Problem('archive-unreadable', {
    detail: MODEL_PROBLEMS['archive-unreadable'].crc(path.slice(0, 200)),
    received: path.slice(0, 200),
    where: path.slice(0, 200),
  });
}

function checkPath(path: string): void {
  if (path.startsWith('/') || path.includes('\\') || /^[A-Za-z]:/.test(path) || path.split('/').includes('..'))
    leaves(path);
}

function leaves(path: string): never {
  throw new Problem('archive-path', {
    detail: MODEL_PROBLEMS['archive-path'].entry(path.slice(0, 200)),
    received: path.slice(0, 200),
  });
}

function tooLarge(limits: ArchiveLimits): never {
  throw new Problem('archive-too-large', {
    detail: MODEL_PROBLEMS['archive-too-large'](Math.round(limits.totalBytes / 1024 / 1024), limits.files),
    expected: limits,
  });
}

function unreadable(error: unknown): never {
  throw unreadableProblem(error);
}

function unreadableProblem(error: unknown): Problem {
  const message = (error as Error).message ?? '';
  const path = /^(?:invalid relative path|absolute path|invalid characters in fileName): (.*)$/.exec(message);
  if (path) {
    return new Problem('archive-path', {
      detail: MODEL_PROBLEMS['archive-path'].entry(path[1]!.slice(0, 200)),
      received: path[1]!.slice(0, 200),
      cause: error,
    });
  }
  return new Problem('archive-unreadable', {
    detail: MODEL_PROBLEMS['archive-unreadable'].zip(message.slice(0, 160)),
    cause: error,
  });
}
