import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import { buffer } from 'node:stream/consumers';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { ZipFile } from 'yazl';
import { Database } from '../../db/open-database.ts';
import { addTwoPositions, putLineOfFinishes } from '../support/job.ts';
import { createRandom } from '../support/random.ts';
import { readZip } from '../support/read-zip.ts';
import { changeRows, rewriteArchive } from '../support/rewrite-archive.ts';
import { startService, type TestService } from '../support/start-service.ts';
import { readStoredState } from '../support/stored-state.ts';

// Archives that were changed by chance, in their bytes or in their records with the digests stated again: each is refused with a
// code and stores nothing, or what it brings can be read.

const ZIP = { 'content-type': 'application/zip' };
let service: TestService;
let archive: Buffer;
beforeAll(async () => {
  const source = await startService();
  await putLineOfFinishes(source);
  const [shell, trim] = await addTwoPositions(source);
  const variants = [{ code: 'A', name: 'Tarn', choices: { [shell]: 'TARN.3', [trim]: 'OAK-1' } }];
  await source.call('PUT', '/api/products/TOUCH/schedule', { default: 'A', variants });
  const decision = { decision: 'approved', person: 'Ida', light: 'D65', shown: 'sample' };
  await source.call('POST', '/api/products/TOUCH/variants/A/approvals', decision);
  expect((await source.call('POST', '/api/products/TOUCH/deliveries', {})).status).toBe(201);
  archive = Buffer.from(await (await fetch(`${source.url}/api/lines/FEN/archive.zip`)).arrayBuffer());
  await source.close();
  service = await startService();
});
afterAll(() => service.close());

const send = (body: Buffer, query = '') => service.call('POST', `/api/archives${query}`, body, ZIP);

/** All that a person sees of the line can be read. */
async function readAll(): Promise<string[]> {
  const failed: string[] = [];
  const { products } = await list('/api/products');
  const paths = [
    '/api/lines',
    '/api/lines/FEN',
    '/api/lines/FEN/approvals',
    '/api/finishes',
    '/api/articles',
    '/api/budgets',
    '/api/picture-sets',
  ];
  for (const { code } of products) {
    const base = `/api/products/${code}`;
    const parts = [
      '',
      '/slots',
      '/survey?pieces=1',
      '/readiness',
      '/schedule',
      '/schedule/count',
      '/preparation',
      '/approvals',
      '/revisions',
    ];
    paths.push(...parts.map((part) => base + part));
    paths.push(...['', '/pending', '/1', '/1/manifest.json', '/1/weight'].map((part) => `${base}/deliveries${part}`));
  }
  for (const path of paths) {
    const answer = await fetch(service.url + path);
    const text = await answer.text();
    if (answer.status >= 500) failed.push(`${path}: ${text.slice(0, 300)}`);
  }
  return failed;
}

/** Texts that a person could not have given are no fault here, so the answer is not checked against its schema. */
// biome-ignore lint/suspicious/noExplicitAny: lists of every kind
const list = async (path: string): Promise<any> => (await fetch(service.url + path)).json();

async function removeAll(): Promise<void> {
  for (const { code } of (await list('/api/products')).products) await service.call('DELETE', `/api/products/${code}`);
  for (const { line } of (await list('/api/lines')).lines) await service.call('DELETE', `/api/lines/${line}`);
}

it('refuses an archive that was cut or changed, by its code, and stores nothing', async () => {
  const empty = await startService();
  try {
    const before = await readStoredState(empty);
    const refuse = async (body: Buffer, status: number, ...codes: string[]) => {
      for (const query of ['?dryRun=1', '']) {
        const answer = await empty.call('POST', `/api/archives${query}`, body, ZIP);
        expect([answer.status, answer.body.code]).toEqual([status, expect.toBeOneOf(codes)]);
      }
      expect(await readStoredState(empty)).toEqual(before);
      expect(readdirSync(join(empty.dataFolder, 'files', 'temporary'))).toEqual([]);
    };
    const change = (of: (files: Map<string, Buffer>) => void, digests = true) =>
      rewriteArchive(archive, of, { digests });
    const statement = (of: (value: Record<string, unknown>) => void) => (files: Map<string, Buffer>) => {
      const value = JSON.parse(files.get('archive.json')!.toString());
      of(value);
      files.set('archive.json', Buffer.from(JSON.stringify(value)));
    };
    const aFile = [...(await readZip(archive)).keys()].find((name) => name.startsWith('files/'))!;
    await refuse(archive.subarray(0, archive.length - 100), 422, 'archive-unreadable');
    await refuse(archive.subarray(0, archive.length >> 1), 422, 'archive-unreadable');
    await refuse(Buffer.alloc(0), 422, 'archive-unreadable');
    await refuse(await change((files) => void files.delete('archive.json'), false), 422, 'archive-format');
    await refuse(
      await change(
        statement((value) => (value.format = 'dyeworks-archive/2')),
        false,
      ),
      422,
      'archive-newer',
    );
    await refuse(
      await change(
        statement((value) => (value.schema = '999-later')),
        false,
      ),
      422,
      'archive-newer',
    );
    await refuse(await change((files) => files.set(aFile, Buffer.from('other')), false), 422, 'archive-digest');
    await refuse(
      await change((files) => files.set('records/lines.jsonl', Buffer.from('{}\n')), false),
      422,
      'archive-digest',
    );
    await refuse(await change((files) => void files.delete(aFile), false), 422, 'archive-missing-file');
    await refuse(await change((files) => void files.delete(aFile)), 422, 'archive-missing-file');
    await refuse(
      await change((files) => void files.set('files/more.txt', Buffer.from('x')), false),
      422,
      'archive-format',
    );
    await refuse(
      await change((files) => void files.set('records/people.jsonl', Buffer.from('{"role":"owner"}\n'))),
      422,
      'archive-records',
    );
    await refuse(await change(changeRows('products', (rows) => (rows[0].line_key = 'other'))), 422, 'archive-records');
    await refuse(await change(changeRows('deliveries', (rows) => (rows[0].bytes = 1))), 422, 'archive-records');
    await refuse(await change(changeRows('finishes', (rows) => (rows[0].data = '{}'))), 422, 'archive-records');
    await refuse(await change(changeRows('slots', (rows) => (rows[0].more = 1))), 422, 'archive-records');
    // paths that leave the archive, absolute ones, and two files of one name: put into the bytes, since writers refuse them
    for (const [name, code] of [
      ['../../../../etc/x', 'archive-path'],
      ['/aaaaaaaaaaaaaaaa', 'archive-path'],
      ['records/lines.jsonl', 'archive-unreadable'],
    ] as const) {
      const written = 'z'.repeat(name.length);
      const body = await change((files) => void files.set(written, Buffer.from('x')), false);
      await refuse(Buffer.from(body.toString('latin1').replaceAll(written, name), 'latin1'), 422, code);
    }
    const bomb = new ZipFile();
    bomb.addBuffer(Buffer.alloc(100 * 1024 * 1024), 'archive.json');
    bomb.end();
    await refuse(await buffer(bomb.outputStream as NodeJS.ReadableStream), 413, 'archive-too-large');
  } finally {
    await empty.close();
  }
});

it('are refused by their code, or can be read, whatever was changed', async () => {
  const random = createRandom(17);
  const odd = [
    null,
    '',
    '{}',
    '[]',
    'null',
    '\u0000',
    '../x',
    '💥'.repeat(200),
    -1,
    0,
    2 ** 52,
    'a'.repeat(5000),
    '{"finish":1}',
  ];
  const tables = [
    'lines',
    'line_positions',
    'line_range',
    'articles',
    'finishes',
    'products',
    'models',
    'slots',
    'schedules',
    'deliveries',
    'approvals',
    'history',
    'counters',
    'audit',
  ];
  const before = await readStoredState(service);
  const codes = new Map<string, number>();
  const failed = new Set<string>();
  let accepted = 0;
  for (let round = 0; round < 200; round++) {
    let body: Buffer;
    let changed = 'bytes';
    if (round % 3 === 0) {
      body = Buffer.from(archive);
      for (let flips = 1 + random.whole(4); flips > 0; flips--) body[random.whole(body.length)] = random.whole(256);
      if (random.next() < 0.3) body = body.subarray(0, random.whole(body.length));
    } else {
      const table = random.pick(tables);
      body = await rewriteArchive(
        archive,
        changeRows(table, (rows) => {
          if (rows.length === 0) return void rows.push({ ordinal: 1, data: '{}' });
          const row = random.pick(rows);
          const column = random.pick(Object.keys(row));
          const chance = random.next();
          changed = `${table}.${column}`;
          if (chance < 0.1) rows.splice(rows.indexOf(row), 1);
          else if (chance < 0.2) rows.push({ ...row });
          else if (chance < 0.4 || typeof row[column] !== 'string' || !/^[[{]/.test(row[column]))
            row[column] = random.pick(odd);
          else {
            // one value within the JSON of a column
            const places: [Record<string, unknown>, string][] = [];
            const value = JSON.parse(row[column], function note(this: Record<string, unknown>, key, each) {
              if (key !== '') places.push([this, key]);
              return each;
            });
            if (places.length === 0) return;
            const [holder, key] = random.pick(places);
            if (random.next() < 0.3) delete holder[key];
            else holder[key] = random.pick([...odd, [], {}, true, 1e300]);
            row[column] = JSON.stringify(value);
          }
        }),
      );
    }
    const answer = await send(body);
    const what = `round ${round}: ${answer.status} ${JSON.stringify(answer.body).slice(0, 300)}`;
    expect(answer.status, what).toBeLessThan(500);
    if (answer.status < 300) {
      accepted++;
      for (const each of await readAll()) failed.add(`${changed}: ${each}`);
      await removeAll();
    } else {
      codes.set(answer.body.code, (codes.get(answer.body.code) ?? 0) + 1);
      if (accepted === 0) expect(await readStoredState(service), what).toEqual(before);
      expect((await list('/api/products')).products, what).toEqual([]);
    }
    expect(readdirSync(join(service.dataFolder, 'files', 'temporary')), what).toEqual([]);
  }
  expect([...failed]).toEqual([]);
  // otherwise the test would prove nothing
  expect([...codes.keys()]).toEqual(expect.arrayContaining(['archive-records', 'archive-unreadable']));
  expect(accepted).toBeGreaterThan(3);
});

it('are stored as a whole or not at all: when the last write fails, nothing is there', async () => {
  await removeAll();
  const before = await readStoredState(service);
  const beside = new Database(join(service.dataFolder, 'dyeworks.sqlite'));
  beside.exec(`CREATE TRIGGER fails BEFORE INSERT ON archive_imports BEGIN SELECT raise(ABORT, 'in the test'); END`);
  const { files: _, ...failed } = { ...(await send(archive, '?finish=replace')), files: null };
  expect(failed.status).toBe(500);
  const { files: __, ...after } = (await readStoredState(service)) as { files: unknown };
  const { files: ___, ...then } = before as { files: unknown };
  // content files stay until the sweep finds that nothing refers to them
  expect(after).toEqual(then);
  beside.exec('DROP TRIGGER fails');
  beside.close();
  expect((await send(archive, '?finish=replace')).status).toBe(201);
});
