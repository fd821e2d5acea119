import { stat } from 'node:fs/promises';
import { crc32 } from 'node:zlib';
import { type Entry, openPromise, type ZipFile } from 'yauzl';
import { Problem } from '../../core/problems.ts';
import { MODEL_PROBLEMS } from '../../core/texts/problems/model.ts';

/** Limits of an unpacked zip; a few kilobytes can unpack to petabytes. */
interface ArchiveLimits {
  readonly totalBytes: number;
  readonly files: number;
  /** Bytes that one byte of the zip may unpack to, once that is more than `freeBytes`. Geometry and images reach ten. */
  readonly ratio?: number;
  readonly freeBytes?: number;
}

const ARCHIVE_LIMITS: ArchiveLimits = { totalBytes: 512 * 1024 * 1024, files: 2000 };
const RATIO = 100;
const FREE_BYTES = 64 * 1024 * 1024;

interface Archive {
  /** Paths in the zip, with forward slashes. */
  readonly paths: readonly string[];
  has(path: string): boolean;
  /**
   * Unpacks one file, chunk by chunk. Counts the actual bytes towards the limit, since the sizes stated in the zip may be
   * wrong, and checks size and CRC-32 at the end.
   * @throws Problem `archive-unreadable`, `archive-too-large`, `archive-missing-file`
   */
  stream(path: string): AsyncGenerator<Buffer>;
  /** Unpacks one file into memory. */
  read(path: string): Promise<Buffer>;
  close(): void;
}

/**
 * Opens a zip and lists it. Refuses what programs read in different ways: two files of one name, files that share bytes,
 * links, and encrypted files.
 * @throws Problem `archive-unreadable`, `archive-path`, `archive-too-large`
 */
export async function openArchive(file: string, limits: ArchiveLimits = ARCHIVE_LIMITS): Promise<Archive> {
  const { size } = await stat(file);
  const { ratio = RATIO, freeBytes = FREE_BYTES } = limits;
  const totalBytes = Math.min(limits.totalBytes, Math.max(freeBytes, size * ratio));
  const all = { ...limits, totalBytes };
  const zip = await openPromise(file, { lazyEntries: true, autoClose: false, strictFileNames: true }).catch(unreadable);
  const entries = new Map<string, Entry>();
  try {
    await listEntries(zip, entries, all);
    refuseOverlaps([...entries.values()]);
  } catch (error) {
    zip.close();
    throw error instanceof Problem ? error : unreadableProblem(error);
  }
  let unpacked = 0;
  async function* stream(path: string): AsyncGenerator<Buffer> {
    const entry = entries.get(path);
    if (!entry)
      throw new Problem('archive-missing-file', {
        detail: MODEL_PROBLEMS['archive-missing-file'].entry(path),
        where: path,
      });
    const source = await zip.openReadStreamPromise(entry).catch(unreadable);
    let crc = 0;
    try {
      for await (const chunk of source) {
        unpacked += chunk.length;
        if (unpacked > totalBytes) tooLarge(all);
        crc = crc32(chunk, crc);
        yield chunk;
      }
      if (crc !== entry.crc32) damaged(path);
    } catch (error) {
      throw error instanceof Problem ? error : unreadableProblem(error);
    }
  }
  return {
    paths: [...entries.keys()],
    has: (path) => entries.has(path),
    stream,
    async read(path) {
      const chunks: Buffer[] = [];
      for await (const chunk of stream(path)) chunks.push(chunk);
      return Buffer.concat(chunks);
    },
    close: () => zip.close(),
  };
}

async function listEntries(zip: ZipFile, entries: Map<string, Entry>, limits: ArchiveLimits): Promise<void> {
  let listed = 0;
  let stated = 0;
  for await (const entry of zip.eachEntry()) {
    // folders are skipped, but to list millions of them takes time as well
    if (++listed > 4 * limits.files) tooLarge(limits);
    if (entry.fileName.endsWith('/')) continue;
    checkPath(entry.fileName);
    if (entries.has(entry.fileName)) unclear(MODEL_PROBLEMS['archive-unreadable'].twice, entry.fileName);
    if (entry.isEncrypted()) unclear(MODEL_PROBLEMS['archive-unreadable'].encrypted, entry.fileName);
    if (isLink(entry)) unclear(MODEL_PROBLEMS['archive-unreadable'].link, entry.fileName);
    entries.set(entry.fileName, entry);
    stated += entry.uncompressedSize;
    if (entries.size > limits.files || stated > limits.totalBytes) tooLarge(limits);
  }
}

/** Made on Unix, as a symbolic link (APPNOTE 6.3.10, §4.4.2 and §4.4.15; POSIX `S_IFLNK`). */
function isLink({ externalFileAttributes, versionMadeBy }: Entry): boolean {
  return versionMadeBy >> 8 === 3 && ((externalFileAttributes >>> 16) & 0o170000) === 0o120000;
}

/** Bytes of a local file header without name and extra field (APPNOTE 6.3.10, §4.3.7). */
const LOCAL_HEADER = 30;

/** Files that share bytes let a few kilobytes unpack to terabytes. */
function refuseOverlaps(entries: readonly Entry[]): void {
  const sorted = [...entries].sort((a, b) => a.relativeOffsetOfLocalHeader - b.relativeOffsetOfLocalHeader);
  let end = 0;
  for (const { relativeOffsetOfLocalHeader: start, compressedSize, fileName, fileNameLength } of sorted) {
    if (start < end) unclear(MODEL_PROBLEMS['archive-unreadable'].overlap, fileName);
    end = start + LOCAL_HEADER + fileNameLength + compressedSize;
  }
}

function unclear(detail: (path: string) => string, path: string): never {
  const received = path.slice(0, 200);
  throw new Problem('archive-unreadable', { detail: detail(received), received, where: received });
}

/** PKWARE APPNOTE 6.3.10, §4.4.7: every entry states the CRC-32 of its bytes. */
function damaged(path: string): never {
  unclear(MODEL_PROBLEMS['archive-unreadable'].crc, path);
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
