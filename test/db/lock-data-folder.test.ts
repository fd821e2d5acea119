import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { text } from 'node:stream/consumers';
import { afterEach, beforeEach, expect, it } from 'vitest';
import { createFiles } from '../../db/create-files.ts';
import { lockDataFolder } from '../../db/lock-data-folder.ts';
import { ROOT } from '../../server/root.ts';
import { expectRefusal } from '../support/refusal.ts';

let folder: string;
const children: ChildProcess[] = [];
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'dyeworks-lock-'));
});
afterEach(async () => {
  for (const child of children.splice(0)) child.kill('SIGKILL');
  rmSync(folder, { recursive: true, force: true });
});

/** Another process that holds the lock of the folder. */
async function startHolder(): Promise<ChildProcess> {
  const source = `
    import { lockDataFolder } from './db/lock-data-folder.ts';
    lockDataFolder(${JSON.stringify(folder)});
    // the lock is for the life of the process, also when nothing refers to it any more
    for (let round = 0; round < 20; round++) {
      globalThis.gc();
      await new Promise((resolve) => setTimeout(resolve, 5));
    }
    console.log('held');
    setInterval(() => {}, 1000);
  `;
  const args = ['--expose-gc', '--import', 'tsx', '--input-type=module', '-e', source];
  const child = spawn(process.execPath, args, { cwd: ROOT, stdio: ['ignore', 'pipe', 'inherit'] });
  children.push(child);
  await once(child.stdout!, 'data');
  return child;
}

it('is held by one process, however often it collects memory, and free as soon as that one is killed', async () => {
  const holder = await startHolder();
  const refusal = await expectRefusal(() => lockDataFolder(folder), 'data-folder-in-use');
  expect(refusal.message).toContain(`process ${holder.pid} on `);
  expect(refusal.message).toContain('DYEWORKS_DATA');
  holder.kill('SIGKILL');
  await once(holder, 'exit');
  lockDataFolder(folder).release();
});

it('is held once within a process, and free when released', async () => {
  const lock = lockDataFolder(folder);
  await expectRefusal(() => lockDataFolder(folder), 'data-folder-in-use');
  lock.release();
  lockDataFolder(folder).release();
});

it('does not depend on the process id that a crash left behind', async () => {
  writeFileSync(join(folder, 'lock.json'), JSON.stringify({ pid: process.pid, host: 'other', since: 'then' }));
  lockDataFolder(folder).release();
});

/**
 * What `dyeworks serve` prints when it cannot start. It has no time limit of its own: on a busy machine, a start from the
 * sources takes a minute.
 */
async function failToServe(): Promise<string> {
  const child = spawn(process.execPath, ['server/dyeworks.mjs', 'serve'], {
    cwd: ROOT,
    env: { ...process.env, DYEWORKS_DATA: folder, DYEWORKS_PORT: '0', DYEWORKS_DEMO: 'off' },
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  children.push(child);
  const [stdout, stderr, [status]] = await Promise.all([text(child.stdout), text(child.stderr), once(child, 'close')]);
  expect(stdout).toBe('');
  expect(stderr.trim().split('\n')).toHaveLength(1);
  expect(status).toBe(2);
  return stderr;
}

it('stops a second service at the start, with one sentence and status 2', async () => {
  const lock = lockDataFolder(folder);
  const stderr = await failToServe();
  lock.release();
  expect(stderr).toMatch(/^data-folder-in-use: Another Dyeworks uses the data folder .*process \d+/);
  expect(existsSync(join(folder, 'dyeworks.sqlite'))).toBe(false);
});

it('is given back by a service that cannot start; a damaged database gives one sentence and status 2', async () => {
  writeFileSync(join(folder, 'dyeworks.sqlite'), 'no database, but something longer than its header '.repeat(100));
  const stderr = await failToServe();
  expect(stderr).toMatch(/^database-damaged: Dyeworks cannot start, because the database in .* is damaged\. Restore/);
  expect(readFileSync(join(folder, 'dyeworks.sqlite'), 'utf8')).toMatch(/^no database/);
  lockDataFolder(folder).release();
});

it('lets a start delete every temporary file, even one of a process with the same id', () => {
  const left = join(folder, 'temporary', `${process.pid}-crashed`);
  mkdirSync(left, { recursive: true });
  writeFileSync(join(left, 'model'), 'over');
  createFiles(folder);
  expect(readdirSync(join(folder, 'temporary'))).toEqual([]);
});
