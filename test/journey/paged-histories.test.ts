import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { Database } from '../../db/open-database.ts';
import { startService, type TestService } from '../support/start-service.ts';

// Lists that grow without end are read page by page. Without a limit, they answer as before there were pages.

let folder: string;
let service: TestService;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'dyeworks-pages-'));
  service = await startService({}, folder);
});
afterAll(async () => {
  await service.close();
  await rm(folder, { recursive: true, force: true });
});

const read = async (path: string) => (await service.call('GET', path)).body;

/** All pages of a list. */
async function readPages(path: string, limit: number) {
  const pages = [];
  for (let after: number | undefined = 0; after !== undefined; ) {
    const page = await read(`${path}limit=${limit}&after=${after}`);
    pages.push(page);
    after = page.next;
  }
  return pages;
}

it('the histories of a finish and of an article', async () => {
  for (let number = 1; number <= 5; number++) {
    await service.call('PUT', '/api/articles/CLOTH', { name: `Cloth ${number}`, family: 'textile' });
  }
  const put = (hex: string) =>
    service.call('PUT', '/api/finishes/WOOL', { name: 'Wool', family: 'textile', article: 'CLOTH', colour: { hex } });
  for (const hex of ['#111111', '#222222', '#333333']) await put(hex);
  await service.call('DELETE', '/api/finishes/WOOL');
  for (const hex of ['#444444', '#555555']) await put(hex);

  const whole = await read('/api/finishes/WOOL/revisions');
  expect(whole.next).toBeUndefined();
  expect(whole.revisions.map(({ revision }: { revision: number }) => revision)).toEqual([5, 4, 3, 2, 1]);
  const pages = await readPages('/api/finishes/WOOL/revisions?', 2);
  expect(pages.map(({ revisions }) => revisions.length)).toEqual([2, 2, 1]);
  expect(pages.flatMap(({ revisions }) => revisions)).toEqual(whole.revisions);
  // the deletion stands with the revision that was current then
  expect(whole.events).toHaveLength(1);
  expect(pages.map(({ events }) => events)).toEqual([[], whole.events, []]);

  const articles = await read('/api/articles/CLOTH/revisions');
  const [first, second, ...more] = await readPages('/api/articles/CLOTH/revisions?', 3);
  expect([...first.revisions, ...second.revisions]).toEqual(articles.revisions);
  expect([articles.revisions.length, articles.next, more]).toEqual([5, undefined, []]);
});

it('jobs, of all products or of one', async () => {
  const database = new Database(join(folder, 'dyeworks.sqlite'));
  const add = database.prepare('INSERT INTO jobs (id, data, state, progress) VALUES (?, ?, ?, ?)');
  const progress = { state: 'done', done: 1, failed: 0, failures: [], finished: [[0, 1]], failedParts: [] };
  for (let number = 1; number <= 30; number++) {
    const data = { kind: 'pictures', product: number % 3 === 0 ? 'P' : 'Q', total: 1, request: {} };
    add.run(`job-${number}`, JSON.stringify(data), 'done', JSON.stringify(progress));
  }
  database.close();
  const ids = ({ jobs }: { jobs: { id: string }[] }) => jobs.map(({ id }) => id);
  const usual = await read('/api/jobs');
  expect(ids(usual)).toEqual(Array.from({ length: 20 }, (_, at) => `job-${30 - at}`));
  expect(ids(await read(`/api/jobs?after=${usual.next}`))).toEqual(
    Array.from({ length: 10 }, (_, at) => `job-${10 - at}`),
  );
  const pages = await readPages('/api/jobs?product=p&', 4);
  expect(pages.map(ids)).toEqual([
    ['job-30', 'job-27', 'job-24', 'job-21'],
    ['job-18', 'job-15', 'job-12', 'job-9'],
    ['job-6', 'job-3'],
  ]);
});
