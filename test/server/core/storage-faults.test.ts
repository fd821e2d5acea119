import { describe, expect, it } from 'vitest';
import { PROBLEMS, Problem } from '../../../server/core/problems.ts';
import { explainFailedStart, explainStorageFault, findStorageFault } from '../../../server/core/storage-faults.ts';

const errorOf = (code: string, more: object = {}) => Object.assign(new Error(code), { code, ...more });

// errno(3); the result codes of SQLite, https://sqlite.org/rescode.html
describe('a fault of the storage', () => {
  it.each([
    ['ENOSPC', 'storage-full'],
    ['EDQUOT', 'storage-full'],
    ['SQLITE_FULL', 'storage-full'],
    ['EROFS', 'storage-read-only'],
    ['SQLITE_READONLY_DIRECTORY', 'storage-read-only'],
    ['EACCES', 'storage-not-permitted'],
    ['SQLITE_IOERR_FSYNC', 'storage-failed'],
    ['SQLITE_CANTOPEN', 'storage-failed'],
    ['SQLITE_BUSY_SNAPSHOT', 'storage-busy'],
    ['SQLITE_CORRUPT_VTAB', 'database-damaged'],
    ['SQLITE_NOTADB', 'database-damaged'],
  ] as const)('is found by its code %s: %s', (code, fault) => {
    expect(findStorageFault(errorOf(code))).toBe(fault);
    expect(findStorageFault(new Error('outer', { cause: new Error('middle', { cause: errorOf(code) }) }))).toBe(fault);
  });

  it('is a content file that is missing, and no other missing file', () => {
    const path = `/data/files/ab/${'ab'.repeat(32)}`;
    expect(findStorageFault(errorOf('ENOENT', { syscall: 'open', path }))).toBe('file-lost');
    expect(findStorageFault(errorOf('ENOENT', { syscall: 'open', path: '/data/other' }))).toBeNull();
  });

  it.each([
    [errorOf('EACCES', { syscall: 'listen' })],
    [errorOf('EACCES', { syscall: 'spawn chromium' })],
    [errorOf('SQLITE_CONSTRAINT_UNIQUE')],
    [errorOf('ECONNRESET')],
    [new Error('a bug')],
    ['no error'],
    [new Problem('internal', { detail: 'x', cause: errorOf('ENOSPC') })],
  ])('is not %s', (error) => {
    expect(findStorageFault(error)).toBeNull();
    expect(explainStorageFault(error)).toBeNull();
  });

  it('is a 507 only for a full disk, and says what to do at a call and at the start', () => {
    for (const code of ['ENOSPC', 'EROFS', 'EPERM', 'EIO', 'SQLITE_CORRUPT']) {
      const call = explainStorageFault(errorOf(code))!;
      expect(PROBLEMS[call.code].kind === 'no-space').toBe(code === 'ENOSPC');
      expect(call.message).toMatch(/[a-z]\. \p{Lu}/u);
      expect(explainFailedStart(errorOf(code), '/data')!.message).toMatch(
        /^Dyeworks cannot start.* \/data\b.*\. \p{Lu}/u,
      );
    }
  });
});
