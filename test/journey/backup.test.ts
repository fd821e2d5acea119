import { execFileSync, spawn } from 'node:child_process';
import { once } from 'node:events';
import {
  appendFileSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  truncateSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { text } from 'node:stream/consumers';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { ROOT } from '../../server/root.ts';
import { addTwoPositions, putLineOfFinishes } from '../support/job.ts';
import { startService, type TestService } from '../support/start-service.ts';
import { writePng } from '../support/write-png.ts';

// A backup of a folder that a service writes to. Outside readers: SQLite through Python or its own program, and sha256sum of
// GNU coreutils.

let service: TestService;
let top: string;
let data: string;
beforeAll(async () => {
  top = mkdtempSync(join(tmpdir(), 'dyeworks-backup-'));
  data = join(top, 'data');
  service = await startService({}, data);
  await putLineOfFinishes(service);
  const [shell, trim] = await addTwoPositions(service);
  const variants = [{ code: 'A', name: 'Tarn', choices: { [shell]: 'TARN.3', [trim]: 'OAK-1' } }];
  expect((await service.call('PUT', '/api/products/TOUCH/schedule', { default: 'A', variants })).status).toBe(200);
  expect((await service.call('POST', '/api/products/TOUCH/deliveries', {})).status).toBe(201);
});
afterAll(async () => {
  await service.close();
  rmSync(top, { recursive: true, force: true });
});

/** Runs the command in a process of its own, as a person does beside a service. */
function start(...args: string[]) {
  const env = { ...process.env, DYEWORKS_DATA: data };
  return spawn(process.execPath, ['server/dyeworks.mjs', ...args], {
    cwd: ROOT,
    env,
    stdio: ['ignore', 'pipe', 'pipe'],
  });
}
async function run(...args: string[]) {
  const child = start(...args);
  const [out, error, [status]] = await Promise.all([text(child.stdout), text(child.stderr), once(child, 'close')]);
  return { status: status as number, out, error };
}

/** Reads the copied database with another SQLite than ours. */
function askSqlite(path: string, question: string): string {
  const script = 'import sqlite3,sys\nfor row in sqlite3.connect(sys.argv[1]).execute(sys.argv[2]): print(row[0])';
  return execFileSync('python3', ['-c', script, path, question], { encoding: 'utf8' }).trim();
}

it('is whole while twenty writers write, by the digests and SQLite of others', async () => {
  let running = true;
  let written = 0;
  const refused: number[] = [];
  const writers = Array.from({ length: 20 }, async (_, writer) => {
    for (let round = 0; running; round++) {
      const codes = [writer, round % 256, round >> 8];
      const image = writePng({ type: 'rgb', bits: 8, codes, widthPx: 1 });
      const stored = await service.call('POST', '/api/files', image, { 'content-type': 'image/png' });
      const finish = {
        name: `Cloth ${writer}`,
        family: 'textile',
        colour: { hex: '#804020' },
        maps: { colour: stored.body.sha256 },
        tile: { widthMm: 100, heightMm: 100 },
      };
      const answer = await service.call('PUT', `/api/finishes/W${writer}`, finish);
      if (answer.status >= 300) refused.push(answer.status);
      else written++;
    }
  });
  try {
    while (written + refused.length < 20) await new Promise((resolve) => setTimeout(resolve, 20));
    for (const name of ['first', 'second']) {
      const folder = join(top, name);
      const made = await run('backup', '-o', folder, ...(name === 'second' ? ['--link'] : []));
      expect(made, made.error).toMatchObject({ status: 0 });
      expect(existsSync(`${folder}.partial`)).toBe(false);
      execFileSync('sha256sum', ['--check', '--strict', '--quiet', 'SHA256SUMS'], { cwd: folder });
      const database = join(folder, 'dyeworks.sqlite');
      expect(askSqlite(database, 'PRAGMA integrity_check')).toBe('ok');
      expect(askSqlite(database, 'PRAGMA foreign_key_check')).toBe('');
      const named = askSqlite(
        database,
        `SELECT json_extract(data, '$.maps.colour') FROM finishes WHERE data LIKE '%maps%'
       UNION SELECT sha256 FROM models UNION SELECT sha256 FROM deliveries`,
      ).split('\n');
      expect(named.length).toBeGreaterThan(4);
      for (const sha256 of named) expect(existsSync(join(folder, 'files', sha256.slice(0, 2), sha256))).toBe(true);
    }
  } finally {
    running = false;
    await Promise.all(writers);
  }
  expect(refused).toEqual([]);
  expect(written).toBeGreaterThan(20);
  const { sha256 } = (await service.call('GET', '/api/products/TOUCH/deliveries/1')).body;
  const inode = (folder: string) => statSync(join(folder, 'files', sha256.slice(0, 2), sha256)).ino;
  expect(inode(join(top, 'second'))).toBe(inode(data));
  expect(inode(join(top, 'first'))).not.toBe(inode(data));
});

it('is restored to a folder that a service starts on, with the same deliveries', async () => {
  const folder = join(top, 'restored');
  mkdirSync(folder);
  expect(await run('restore', join(top, 'first'), '--data', folder)).toMatchObject({ status: 0, error: '' });
  const other = await startService({}, folder);
  try {
    for (const path of ['/api/products/TOUCH/deliveries/1', '/api/lines/FEN', '/api/products/TOUCH/schedule']) {
      expect((await other.call('GET', path)).body).toEqual((await service.call('GET', path)).body);
    }
    const load = async (url: string) =>
      Buffer.from(await (await fetch(`${url}/api/products/TOUCH/deliveries/1/model.glb`)).arrayBuffer());
    expect((await load(other.url)).equals(await load(service.url))).toBe(true);
  } finally {
    await other.close();
  }
  // neither replaces anything
  expect((await run('restore', join(top, 'first'), '--data', folder)).error).toContain('folder-not-empty');
  expect((await run('backup', '-o', join(top, 'first'))).error).toContain('folder-not-empty');
});

it('is refused when it is damaged, incomplete or newer, and nothing is restored', async () => {
  const folder = join(top, 'changed');
  const target = join(top, 'nothing');
  const [, aFile = ''] = /^[0-9a-f]{64} {2}(files\S+)$/m.exec(readFileSync(join(top, 'first', 'SHA256SUMS'), 'utf8'))!;
  const refused = async (change: () => void, code: string) => {
    rmSync(folder, { recursive: true, force: true });
    execFileSync('cp', ['-r', join(top, 'first'), folder]);
    change();
    const { status, error } = await run('restore', folder, '--data', target);
    expect(error).toMatch(new RegExp(`^${code}: `));
    expect(status).toBe(2);
    expect(readdirSync(top).filter((name) => name.startsWith('nothing'))).toEqual([]);
  };
  await refused(() => truncateSync(join(folder, aFile), 3), 'backup-damaged');
  await refused(() => rmSync(join(folder, aFile)), 'backup-damaged');
  await refused(() => appendFileSync(join(folder, 'dyeworks.sqlite'), 'x'), 'backup-damaged');
  await refused(() => rmSync(join(folder, 'backup.json')), 'backup-damaged');
  await refused(() => writeFileSync(join(folder, 'backup.json'), '{"format":'), 'backup-damaged');
  await refused(() => appendFileSync(join(folder, 'SHA256SUMS'), `${'0'.repeat(64)}  ../out\n`), 'backup-damaged');
  const statement = readFileSync(join(folder, 'backup.json'), 'utf8');
  await refused(
    () => writeFileSync(join(folder, 'backup.json'), statement.replace('dyeworks-backup/1', 'dyeworks-backup/2')),
    'backup-newer',
  );
});

it('leaves no backup when it is killed, and the next one works', async () => {
  const folder = join(top, 'killed');
  const child = start('backup', '-o', folder);
  const ended = once(child, 'close');
  // it has begun when the folder beside it is there
  while (!existsSync(join(`${folder}.partial`, 'lock.sqlite'))) await new Promise((resolve) => setTimeout(resolve, 2));
  child.kill('SIGKILL');
  await ended;
  expect(existsSync(folder)).toBe(false);
  expect(await run('backup', '-o', folder)).toMatchObject({ status: 0 });
  expect(readdirSync(top).filter((name) => name.startsWith('killed'))).toEqual(['killed']);
});

it('refuses to make a backup without a file that the data needs', async () => {
  const { sha256 } = (await service.call('GET', '/api/products/TOUCH/deliveries/1')).body;
  const path = join(data, 'files', sha256.slice(0, 2), sha256);
  const bytes = readFileSync(path);
  rmSync(path);
  const { status, error } = await run('backup', '-o', join(top, 'lacking'));
  writeFileSync(path, bytes);
  expect([status, error]).toEqual([2, expect.stringContaining(sha256)]);
  expect(readdirSync(top).filter((name) => name.startsWith('lacking'))).toEqual([]);
});
