import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { Database } from '../../db/open-database.ts';
import { startService } from '../support/start-service.ts';

// Earlier versions stored entries of `names` and `companions` under any key, with any value. One of them must not stop others.

it('a stored entry that no call can store any more is left out, and every other finish still answers', async () => {
  const folder = await mkdtemp(join(tmpdir(), 'dyeworks-test-'));
  const first = await startService({}, folder);
  const finish = { name: 'Plain', family: 'paint', colour: { hex: '#102030' }, companions: { seat: 'GOOD' } };
  for (const code of ['GOOD', 'BAD'])
    expect((await first.call('PUT', `/api/finishes/${code}`, finish)).status).toBe(201);
  expect((await first.call('PUT', '/api/articles/CLOTH', { name: 'Cloth', family: 'textile' })).status).toBe(201);
  await first.close();

  const sqlite = new Database(join(folder, 'dyeworks.sqlite'));
  const odd = `'$.companions', json('{"seat":"GOOD","SEAT":{"a":1},"x y":7,"legs":null}'), '$.names', json('{"de":"Gut","!":[]}')`;
  sqlite.exec(`UPDATE finishes SET data = json_set(data, ${odd}) WHERE finish_key = 'bad'`);
  sqlite.exec(`UPDATE articles SET data = json_set(data, '$.companions', json('[1]'))`);
  sqlite.exec(`UPDATE history SET data = json_set(data, ${odd}) WHERE code_key = 'bad'`);
  sqlite.close();

  const service = await startService({}, folder);
  const used = await service.call('GET', '/api/finishes/GOOD/where-used');
  expect([used.status, used.body.companionOf]).toEqual([
    200,
    [
      { finish: 'GOOD', positions: ['seat'] },
      { finish: 'BAD', positions: ['seat'] },
    ],
  ]);
  const { body } = await service.call('GET', '/api/finishes/BAD');
  expect(body).toMatchObject({ companions: { seat: 'GOOD' }, names: { de: 'Gut' } });
  expect(body.companions).toEqual({ seat: 'GOOD' });
  for (const path of [
    '/api/finishes',
    '/api/articles',
    '/api/articles/CLOTH',
    '/api/finishes/BAD/revisions/1',
    '/api/lines',
  ]) {
    expect((await service.call('GET', path)).status).toBe(200);
  }
  await service.close();
  await rm(folder, { recursive: true });
});
