import { Problem, type ProblemCode } from './problems.ts';
import { STORAGE_PROBLEMS } from './texts/problems/storage.ts';

/** Codes of failed storage. Those with a star begin a family: SQLite has `SQLITE_IOERR_WRITE` and forty more. */
const CODES = {
  'storage-full': ['ENOSPC', 'EDQUOT', 'SQLITE_FULL'],
  'storage-read-only': ['EROFS', 'SQLITE_READONLY*'],
  'storage-not-permitted': ['EACCES', 'EPERM', 'SQLITE_PERM', 'SQLITE_AUTH'],
  'storage-failed': ['EIO', 'EFBIG', 'EMFILE', 'ENFILE', 'ENOTDIR', 'ESTALE', 'SQLITE_IOERR*', 'SQLITE_CANTOPEN*'],
  'storage-busy': ['SQLITE_BUSY*', 'SQLITE_LOCKED*'],
  'database-damaged': ['SQLITE_CORRUPT*', 'SQLITE_NOTADB'],
} as const satisfies Partial<Record<ProblemCode, readonly string[]>>;

export type StorageFault = keyof typeof CODES | 'file-lost';

/** System calls that concern no file: a port or a program that may not be used is no fault of the storage. */
const NOT_STORAGE = /^(spawn|connect|listen|bind|accept|kill|getaddrinfo|setpriority)/;

/** Content files have the SHA-256 of their bytes as their name. */
const CONTENT_FILE = /[\\/][0-9a-f]{64}$/;

/** Errors are passed on as causes of others, a few deep. */
const DEPTH = 6;

/**
 * What is wrong with the disk or the database, by the error of Node or SQLite or one of its causes; null for any other
 * error, and for a refusal, which has its own text.
 */
export function findStorageFault(error: unknown): StorageFault | null {
  let at = error;
  for (let depth = 0; depth < DEPTH && at instanceof Error && !(at instanceof Problem); depth++) {
    const fault = readFault(at);
    if (fault) return fault;
    at = at.cause;
  }
  return null;
}

function readFault(error: Error): StorageFault | null {
  const { code, syscall, path } = error as { code?: unknown; syscall?: unknown; path?: unknown };
  if (typeof code !== 'string' || (typeof syscall === 'string' && NOT_STORAGE.test(syscall))) return null;
  if (code === 'ENOENT') return typeof path === 'string' && CONTENT_FILE.test(path) ? 'file-lost' : null;
  for (const [fault, codes] of Object.entries(CODES)) {
    const isOne = codes.some((known) => (known.endsWith('*') ? code.startsWith(known.slice(0, -1)) : code === known));
    if (isOne) return fault as StorageFault;
  }
  return null;
}

/** The refusal that a fault of the storage is answered with; null for any other error. */
export function explainStorageFault(error: unknown): Problem | null {
  const fault = findStorageFault(error);
  return fault && new Problem(fault, { detail: STORAGE_PROBLEMS[fault].call, cause: error });
}

/** The same for a service that cannot start. @param folder the data folder */
export function explainFailedStart(error: unknown, folder: string): Problem | null {
  const fault = findStorageFault(error);
  return fault && new Problem(fault, { detail: STORAGE_PROBLEMS[fault].start(folder), cause: error });
}

/** For writes that only save later work, such as a measurement that was made while reading: the read goes on. */
export function ignoreStorageFault(error: unknown): void {
  if (!findStorageFault(error)) throw error;
}
