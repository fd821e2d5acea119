import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { createJobStore } from '../../db/create-job-store.ts';
import { createStores } from '../../db/create-stores.ts';
import { approvals, history, initial, pictureSets, preparation, rules } from '../../db/migrations.ts';
import { Database, migrate, openDatabase } from '../../db/open-database.ts';
import type { Approval, Subject } from '../../server/core/approval/approval.ts';
import type { Stores } from '../../server/core/ports/stores.ts';
import type { Product } from '../../server/core/product/product.ts';
import { SAVED, STAMP } from '../support/changes.ts';
import { makeFinish } from '../support/make-finish.ts';

let db: Awaited<ReturnType<typeof openDatabase>>;
let stores: Stores;
beforeEach(async () => {
  db = await openDatabase(':memory:');
  stores = createStores(db);
});
afterEach(() => db.destroy());

function makeApproval(subject: Subject): Approval {
  return {
    subject,
    decision: 'approved',
    round: 1,
    person: 'Ada',
    light: 'D65',
    shown: 'sample',
    revisions: {},
    at: '2026-01-01T00:00:00.000Z',
  };
}

const approve = (subject: Subject) => stores.addApproval(subject, () => makeApproval(subject));
const count = async (subject: Subject) => (await stores.listApprovals(subject)).length;

const product = (code: string): Product => ({
  code,
  name: code,
  line: null,
  class: 'stool',
  mount: 'floor',
  sheet: null,
  budget: 'web-catalogue',
});

describe('approvals end with their subject', () => {
  it('a finish: another with its code has none, and other finishes keep theirs', async () => {
    for (const code of ['OAK', 'OAK-2']) {
      await stores.putFinish(makeFinish(code), SAVED);
      await approve({ finish: code });
    }
    await approve({ product: 'OAK', variant: 'V' });
    await stores.deleteFinish('oak', STAMP);
    await stores.putFinish(makeFinish('OAK'), SAVED);
    expect(await count({ finish: 'OAK' })).toBe(0);
    expect(await count({ finish: 'oak-2' })).toBe(1);
    expect(await count({ product: 'OAK', variant: 'V' })).toBe(1);
  });

  it('a product: those of its variants, but none of a product with a similar code', async () => {
    const codes = ['GO', 'GO-1', 'GO_', 'GO0', 'G'];
    for (const code of codes) {
      await stores.addProduct(product(code));
      await approve({ product: code, variant: 'V1' });
    }
    await approve({ product: 'GO', variant: 'V2' });
    await stores.putFinish(makeFinish('GO'), SAVED);
    await approve({ finish: 'GO' });
    await stores.deleteProduct('go');
    await stores.addProduct(product('GO'));
    expect(await count({ product: 'GO', variant: 'V1' })).toBe(0);
    expect(await count({ product: 'GO', variant: 'V2' })).toBe(0);
    for (const code of codes.slice(1)) expect(await count({ product: code, variant: 'V1' }), code).toBe(1);
    expect(await count({ finish: 'GO' })).toBe(1);
  });
});

it('jobs of a deleted product keep their URL, and do not belong to its successor', async () => {
  const jobs = createJobStore(db);
  await stores.addProduct(product('GO'));
  const job = { kind: 'pictures', state: 'queued', done: 0, total: 1, failed: 0, failures: [] } as const;
  const open = { ...job, finished: [], failedParts: [], request: {} };
  await jobs.add({ ...open, id: 'old', product: 'GO' });
  await jobs.add({ ...open, id: 'other', product: 'GO-1' });
  await stores.deleteProduct('go');
  await stores.addProduct(product('GO'));
  await jobs.add({ ...open, id: 'new', product: 'GO' });
  const list = async (of?: { product: string }) => (await jobs.listLast(9, of)).map(({ id }) => id);
  expect(await list({ product: 'GO' })).toEqual(['new']);
  expect(await list({ product: 'go-1' })).toEqual(['other']);
  expect(await list()).toEqual(['new', 'other', 'old']);
  expect(await jobs.get('old')).toMatchObject({ product: 'GO', productGone: true });
  expect((await jobs.listOpen()).map(({ id, productGone = false }) => [id, productGone])).toEqual([
    ['old', true],
    ['other', false],
    ['new', false],
  ]);
});

it('the migration clears what deleted products and finishes left behind', async () => {
  const sqlite = new Database(':memory:');
  for (const script of [initial, preparation, rules, approvals, history, pictureSets]) sqlite.exec(script);
  sqlite.pragma('user_version = 6');
  sqlite.exec(`
    INSERT INTO finishes VALUES (1, 'kept', NULL, 3, '{}'), (2, 'again', NULL, 5, '{}');
    INSERT INTO retired_finishes VALUES ('again', 4);
    INSERT INTO products (product_key, code, name, class, mount) VALUES
      ('first', 'First', '', 'none', 'floor'), ('second', 'Second', '', 'none', 'floor');
    INSERT INTO models (product_key, revision, sha256, bytes, survey, created_at) VALUES
      ('first', 1, '', 0, '{}', '2026-03-01'), ('second', 2, '', 0, '{}', '2026-03-01');
  `);
  const add = sqlite.prepare('INSERT INTO approvals (subject, data) VALUES (?, ?)');
  const rows: [subject: string, revision: number, at: string][] = [
    ['kept', 3, '2026-01-01'],
    ['gone', 1, '2026-01-01'],
    ['again', 4, '2026-01-01'],
    ['again', 5, '2026-04-01'],
    ['first/v', 1, '2026-01-01'],
    ['second/v', 1, '2026-01-01'],
    ['second/v', 1, '2026-04-01'],
    ['third/v', 1, '2026-01-01'],
  ];
  for (const [subject, revision, at] of rows) add.run(subject, JSON.stringify({ revisions: { x: revision }, at }));
  sqlite.exec(`INSERT INTO jobs (id, state, data, progress) VALUES
    ('a', 'done', '{"product":"First"}', '{}'), ('b', 'done', '{"product":"Third"}', '{}'),
    ('c', 'done', '{"product":null,"line":"L"}', '{}')`);
  await migrate(sqlite);
  // decisions on deleted subjects, or on earlier subjects of the same code, are deleted
  const left = sqlite.prepare(`SELECT subject || ' ' || json_extract(data, '$.at') AS said FROM approvals`).pluck();
  expect(left.all()).toEqual(['kept 2026-01-01', 'again 2026-04-01', 'first/v 2026-01-01', 'second/v 2026-04-01']);
  const gone = sqlite.prepare(`SELECT id FROM jobs WHERE json_extract(data, '$.productGone')`).pluck();
  expect(gone.all()).toEqual(['b']);
  sqlite.close();
});
