import { existsSync, mkdtempSync } from 'node:fs';
import { readdir, rm, stat } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

/**
 * Takes a lock on a file that the system drops when the process ends, however it ends; null when another holder has it.
 * The caller of the renderer provides it.
 */
export type HoldLock = (path: string) => { release(): void } | null;

const NAME = /^dyeworks-studio-(\d+)-/;
const LOCK = 'in-use.sqlite';
const DAY_MS = 86_400_000;

/** A profile folder of a browser, with the lock that says that it is in use. */
export interface Profile {
  readonly path: string;
  /** Before the folder is deleted. */
  release(): void;
}

/** Makes a profile folder. @param holdLock without it, only the name of the folder says whose it is */
export function makeProfile(holdLock?: HoldLock, root = tmpdir()): Profile {
  for (;;) {
    const path = mkdtempSync(join(root, `dyeworks-studio-${process.pid}-`));
    if (!holdLock) return { path, release: () => undefined };
    const lock = holdLock(join(path, LOCK));
    // a sweep of another service may take the lock first; it then deletes the folder
    if (lock) return { path, release: () => lock.release() };
  }
}

/**
 * Deletes the profiles of processes that have ended without doing so. A profile whose lock can be taken is in use by
 * nobody, on this machine or in any container that shares its temporary folder; process ids would not tell, since they
 * repeat. Never throws.
 */
export async function sweepProfiles(holdLock: HoldLock, root = tmpdir()): Promise<void> {
  const names = await readdir(root).catch(() => []);
  for (const name of names) {
    const pid = Number(NAME.exec(name)?.[1] ?? 0);
    if (pid > 0) await sweepProfile(holdLock, join(root, name), pid).catch(() => undefined);
  }
}

async function sweepProfile(holdLock: HoldLock, path: string, pid: number): Promise<void> {
  if (!existsSync(join(path, LOCK))) {
    // being made, or from a version that held no lock: its browser writes there every day
    const { mtimeMs } = await stat(path);
    if (Date.now() - mtimeMs < DAY_MS || isAlive(pid)) return;
    await rm(path, { recursive: true, force: true });
    return;
  }
  const lock = holdLock(join(path, LOCK));
  if (!lock) return;
  try {
    await rm(path, { recursive: true, force: true });
  } finally {
    lock.release();
  }
}

function isAlive(pid: number): boolean {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    return (error as NodeJS.ErrnoException).code === 'EPERM';
  }
}
