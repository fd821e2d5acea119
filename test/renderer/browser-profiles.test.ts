import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { existsSync, mkdirSync, mkdtempSync, rmSync, utimesSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, it } from 'vitest';
import { holdLock } from '../../db/hold-lock.ts';
import { makeProfile, sweepProfiles } from '../../renderer/browser-profiles.ts';
import { ROOT } from '../../server/root.ts';

let root: string;
let child: ChildProcess | undefined;
beforeEach(() => {
  root = mkdtempSync(join(tmpdir(), 'dyeworks-profiles-'));
});
afterEach(() => {
  child?.kill('SIGKILL');
  rmSync(root, { recursive: true, force: true });
});

/** Another process with a profile of its own. */
async function startOther(): Promise<string> {
  const source = `
    import { holdLock } from './db/hold-lock.ts';
    import { makeProfile } from './renderer/browser-profiles.ts';
    console.log(makeProfile(holdLock, ${JSON.stringify(root)}).path);
    setInterval(() => {}, 1000);
  `;
  const args = ['--import', 'tsx', '--input-type=module', '-e', source];
  child = spawn(process.execPath, args, { cwd: ROOT, stdio: ['ignore', 'pipe', 'inherit'] });
  const [line] = (await once(child.stdout!, 'data')) as [Buffer];
  return String(line).trim();
}

it('a profile stays while its process lives, and goes when that one was killed', async () => {
  const own = makeProfile(holdLock, root);
  const other = await startOther();
  await sweepProfiles(holdLock, root);
  expect([existsSync(own.path), existsSync(other)]).toEqual([true, true]);
  writeFileSync(join(other, 'Cookies'), 'left');
  child!.kill('SIGKILL');
  await once(child!, 'exit');
  await sweepProfiles(holdLock, root);
  expect([existsSync(own.path), existsSync(other)]).toEqual([true, false]);
  own.release();
});

it('a process id that is in use again does not protect a profile', async () => {
  const { path, release } = makeProfile(holdLock, root);
  // as after a kill: the name has the id of a living process, and nobody holds the lock
  release();
  await sweepProfiles(holdLock, root);
  expect(existsSync(path)).toBe(false);
});

it('a profile without a lock goes only when it is old and its process has ended; other folders stay', async () => {
  const make = (name: string, days: number) => {
    const path = join(root, name);
    mkdirSync(path);
    const at = Date.now() / 1000 - days * 86_400;
    utimesSync(path, at, at);
    return path;
  };
  const paths = [
    make('dyeworks-studio-999999999-made', 0),
    make(`dyeworks-studio-${process.pid}-used`, 2),
    make('dyeworks-studio-notes', 2),
    make('other', 2),
    make('dyeworks-studio-999999999-dead', 2),
  ];
  await sweepProfiles(holdLock, root);
  expect(paths.map((path) => existsSync(path))).toEqual([true, true, true, true, false]);
});
