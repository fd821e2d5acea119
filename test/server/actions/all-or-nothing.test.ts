import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { sql } from 'kysely';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { createAccessStore } from '../../../db/create-access-store.ts';
import { createFiles } from '../../../db/create-files.ts';
import { createStores } from '../../../db/create-stores.ts';
import { openDatabase } from '../../../db/open-database.ts';
import { approve } from '../../../server/actions/approve.ts';
import type { Context } from '../../../server/actions/context.ts';
import { deliver } from '../../../server/actions/deliver.ts';
import { discontinueFinish } from '../../../server/actions/discontinue-finish.ts';
import { deleteFinish, putArticle, putFinish } from '../../../server/actions/edit-finish.ts';
import { putLine, putRules } from '../../../server/actions/edit-line.ts';
import { putPreparation } from '../../../server/actions/edit-preparation.ts';
import { addProduct, changeProduct, changeSlot, deleteProduct } from '../../../server/actions/edit-product.ts';
import { expandProductSchedule } from '../../../server/actions/edit-schedule.ts';
import { addFile } from '../../../server/actions/image-files.ts';
import { importFinishes } from '../../../server/actions/import-finishes.ts';
import { importVariants } from '../../../server/actions/import-variants.ts';
import { receiveModel, replayPreparation, useRevision } from '../../../server/actions/receive-model.ts';
import { repairProduct } from '../../../server/actions/repair-product.ts';
import { workFor } from '../../../server/actions/turns.ts';
import type { Stores } from '../../../server/core/ports/stores.ts';
import { createImaging } from '../../../server/open-studio.ts';
import { lendEngines } from '../../support/engines.ts';
import { failAtWrite, WriteFailed } from '../../support/fail-at-write.ts';
import { createBench } from '../../support/model-with-variants.ts';
import { expectRefusal } from '../../support/refusal.ts';
import { writePng } from '../../support/write-png.ts';

// Every action that changes something is one unit, with its record in the audit: whichever of its writes fails, nothing of it is
// stored.

let folder: string;
let db: Awaited<ReturnType<typeof openDatabase>>;
let context: Context;
let bench: Uint8Array;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'dyeworks-test-'));
  db = await openDatabase(join(folder, 'test.sqlite'));
  bench = await createBench();
  const { models, imports, planner, threads } = lendEngines();
  const { measureFile, measureMap, convertToSrgb, levelImage } = models;
  context = {
    stores: createStores(db),
    files: createFiles(join(folder, 'files')),
    models,
    imports,
    planner,
    imaging: createImaging({ threads, measureFile, measureMap, convertToSrgb, levelImage }),
    jobs: { disown: () => undefined },
    version: 'test',
    now: () => new Date('2026-01-01T00:00:00Z'),
  } as unknown as Context;
  await putFinish(context, 'RED', { name: 'Red', family: 'paint', colour: { hex: '#aa2222' } }, NOBODY);
  await putFinish(context, 'BLUE', { name: 'Blue', family: 'paint', colour: { hex: '#2222aa' } }, NOBODY);
  await putLine(context, 'L', {
    name: 'Line',
    positions: [
      { position: 'seat', label: 'Seat' },
      { position: 'legs', label: 'Legs' },
    ],
    range: [{ finish: 'RED' }, { finish: 'BLUE' }],
  });
  await addProduct(context, 'P', { name: 'Bench', line: 'L' });
});

afterAll(async () => {
  await db.destroy();
  rmSync(folder, { recursive: true });
});

const NOBODY = { person: null };
const upload = (at: Context, code = 'P') =>
  receiveModel(
    at,
    code,
    'model/gltf-binary',
    (async function* () {
      yield bench;
    })(),
    { limitBytes: 1e9 },
  );

/** All tables as text. Measurements of images only describe bytes, and may stay. */
async function dump(): Promise<string> {
  const { rows } = await sql<{ name: string }>`SELECT name FROM sqlite_master WHERE type = 'table'`.execute(db);
  const tables = rows.map(({ name }) => name).filter((name) => !/^(sqlite_|kysely_|map_facts)/.test(name));
  const parts = await Promise.all(
    tables.map(async (table) => [table, (await sql`SELECT * FROM ${sql.table(table)}`.execute(db)).rows]),
  );
  return JSON.stringify(parts);
}

/** Does an action as a call that the audit records. */
function record<T>(what: string, work: () => Promise<T>): Promise<T> {
  const origin = { by: 'open', account: null, name: null, address: null } as const;
  const make = () => ({ ...origin, at: '2026-01-01T00:00:00Z', what, about: {}, status: null, refusal: null });
  return createAccessStore(db).recordIn({ make, written: false }, work);
}

/** Does an action with each of its writes failing in turn, then without a failure. @returns the number of its writes */
async function failEach(what: string, perform: (at: Context) => Promise<unknown>): Promise<number> {
  const action = (at: Context) => record(what, () => perform(at));
  const before = await dump();
  await sql`CREATE TRIGGER no_record BEFORE INSERT ON audit BEGIN SELECT RAISE(ABORT, 'no record'); END`.execute(db);
  await expect(action(context)).rejects.toThrow('no record');
  await sql`DROP TRIGGER no_record`.execute(db);
  expect(await dump()).toBe(before);
  for (let n = 1; ; n++) {
    const failing = failAtWrite(context.stores, n);
    const failed = await action({ ...context, stores: failing.stores as Stores }).then(
      () => null,
      (error: unknown) => error,
    );
    if (failed === null) {
      expect(await dump()).not.toBe(before);
      const entries = await createAccessStore(db).listLatest(null, 100, null);
      expect(entries.filter((entry) => entry.what === what)).toHaveLength(1);
      expect(entries[0]!.what).toBe(what);
      return failing.writes();
    }
    expect(failed).toBeInstanceOf(WriteFailed);
    expect(await dump()).toBe(before);
  }
}

/** In this order: each action needs what those before it stored. */
const ACTIONS: readonly [name: string, action: (at: Context) => Promise<unknown>][] = [
  ['the first model', (at) => upload(at)],
  ['a repair', (at) => repairProduct(at, 'P', [{ repair: 'scale', factor: 0.5 }], { preview: false })],
  ['a model on a preparation', (at) => upload(at)],
  ['an edited preparation', (at) => putPreparation(at, 'P', [{ repair: 'scale', factor: 0.25 }])],
  ['a replay', (at) => replayPreparation(at, 'P', { hold: false })],
  ['an earlier revision', (at) => useRevision(at, 'P', 1)],
  ['an import of variants', (at) => importVariants(at, 'P', { replace: false }, NOBODY)],
  [
    'a slot',
    async (at) =>
      changeSlot(at, 'P', (await at.stores.listSlots('P'))[0]!.slot, { position: 'seat', options: null, fixed: false }),
  ],
  ['expanding', (at) => expandProductSchedule(at, 'P', {}, null)],
  [
    'rules',
    (at) =>
      putRules(at, 'L', [
        { when: { position: 'seat', finish: 'RED' }, excludes: { position: 'legs', finish: 'BLUE' } },
      ]),
  ],
  ['a line', (at) => putLine(at, 'L', { name: 'Line two' })],
  ['a delivery', (at) => deliver(at, 'P')],
  ['discontinuing', (at) => discontinueFinish(at, 'L', { finish: 'RED', replacedBy: 'BLUE' }, NOBODY)],
  ['an article', (at) => putArticle(at, 'CLOTH', { name: 'Cloth', family: 'textile' }, NOBODY)],
  [
    'a finish',
    (at) =>
      putFinish(at, 'WOOL', { name: 'Wool', family: 'textile', article: 'CLOTH', colour: { hex: '#777777' } }, NOBODY),
  ],
  ['a decision', (at) => approve(at, { finish: 'WOOL' }, DECISION)],
  ['an image', (at) => addFile(at, writePng({ type: 'grey', bits: 8, codes: [9, 9, 9, 9], widthPx: 2 }))],
  ['an import of finishes', (at) => importFinishes(at, CSV, { dryRun: false, partial: false }, NOBODY)],
  ['deleting a finish', (at) => deleteFinish(at, 'NEW-1', NOBODY)],
  ['a product', (at) => changeProduct(at, 'P', { name: 'Bench two' })],
  ['deleting a product', (at) => deleteProduct(at, 'P')],
];

const DECISION = {
  decision: 'approved',
  person: 'Ada',
  light: 'D65',
  shown: 'sample',
} as never;
const CSV = {
  bytes: new TextEncoder().encode('code,name,family,hex\nNEW-1,One,paint,#111111\nNEW-2,Two,paint,#222222\n'),
  charset: null,
  viewing: {},
} as never;

/** Actions whose work in other threads ends when their caller leaves, and which then store nothing. */
const ENDING = ['a model on a preparation', 'a replay', 'an import of variants', 'a delivery', 'an image'];

it.each(ACTIONS)('%s', async (name, action) => {
  if (ENDING.includes(name)) {
    const before = await dump();
    const gone = { rank: 'person', name: 'gone', signal: AbortSignal.abort() } as const;
    await expectRefusal(() => workFor(gone, () => action(context)), 'work-cancelled');
    expect(await dump()).toBe(before);
  }
  expect(await failEach(name, action)).toBeGreaterThan(0);
});
