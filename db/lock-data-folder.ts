import { accessSync, constants, existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { hostname } from 'node:os';
import { dirname, join } from 'node:path';
import { Problem } from '../server/core/problems.ts';
import { type FolderHolder, STORAGE_PROBLEMS } from '../server/core/texts/problems/storage.ts';
import { holdLock, type Lock } from './hold-lock.ts';

/** What holds the lock is written here, for the message alone. */
const HOLDER = 'lock.json';

/**
 * Makes this process the only writer of a data folder, until it releases the lock or ends. The folder is created when
 * it is missing.
 * @throws Problem `data-folder-in-use`; the errors of Node and SQLite for a folder that cannot be written
 */
export function lockDataFolder(folder: string): Lock {
  requireWritable(folder);
  mkdirSync(folder, { recursive: true });
  const lock = holdLock(join(folder, 'lock.sqlite'));
  if (!lock) {
    const holder = readHolder(join(folder, HOLDER));
    throw new Problem('data-folder-in-use', { detail: STORAGE_PROBLEMS['data-folder-in-use'](folder, holder) });
  }
  const holder: FolderHolder = { pid: process.pid, host: hostname(), since: new Date().toISOString() };
  try {
    writeFileSync(join(folder, HOLDER), JSON.stringify(holder));
  } catch {
    // the lock holds without it, and a full disk must not stop a service that can still read
  }
  return lock;
}

/** The system says why a folder cannot be written; SQLite says only that it cannot open a file there. */
function requireWritable(folder: string): void {
  let at = folder;
  while (!existsSync(at) && dirname(at) !== at) at = dirname(at);
  accessSync(at, constants.W_OK);
}

function readHolder(path: string): FolderHolder | null {
  try {
    const { pid, host, since } = JSON.parse(readFileSync(path, 'utf8')) as FolderHolder;
    return { pid: Number(pid), host: String(host), since: String(since) };
  } catch {
    return null;
  }
}
