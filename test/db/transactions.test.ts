import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setImmediate } from 'node:timers/promises';
import { sql } from 'kysely';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { createAccessStore } from '../../db/create-access-store.ts';
import { createJobStore } from '../../db/create-job-store.ts';
import { createStores } from '../../db/create-stores.ts';
import { openDatabase } from '../../db/open-database.ts';
import type { Stores } from '../../server/core/ports/stores.ts';
import { makeFinish } from '../support/make-finish.ts';

let folder: string;
let db: Awaited<ReturnType<typeof openDatabase>>;
let stores: Stores;

beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), 'dyeworks-test-'));
  db = await openDatabase(join(folder, 'test.sqlite'));
  stores = createStores(db);
});

afterEach(async () => {
  await db.destroy();
  rmSync(folder, { recursive: true });
});

const SAVED = { how: 'saved', person: null, at: '2026-01-01T00:00:00.000Z' } as const;
const PRODUCT = { name: 'Stool', line: null, class: 'stool', mount: 'floor', sheet: null, budget: 'web' } as const;
const LINE = {
  line: 'L',
  name: 'Line',
  positions: [],
  range: [{ finish: 'F', status: 'current' }],
  rules: [],
} as const;

const codes = async (from: Stores) => (await from.listFinishes()).map(({ finish }) => finish);

describe('a transaction', () => {
  it('stores all that its work wrote, and shows it to the work before that', async () => {
    await stores.transaction(async (tx) => {
      await tx.putFinish(makeFinish('F'), SAVED);
      expect(await codes(tx)).toEqual(['F']);
      await tx.putLine(LINE, null);
      await tx.addProduct({ ...PRODUCT, code: 'P', line: 'L' });
    });
    expect(await codes(stores)).toEqual(['F']);
    expect((await stores.getLine('L'))?.range).toHaveLength(1);
    expect((await stores.getProduct('P'))?.line).toBe('L');
  });

  it('stores nothing when its work fails at the end, and kept lists stay right', async () => {
    await stores.putFinish(makeFinish('OLD'), SAVED);
    const before = await stores.listFinishes();
    const failed = stores.transaction(async (tx) => {
      await tx.putFinish(makeFinish('F'), SAVED);
      await tx.putLine(LINE, null);
      await tx.addProduct({ ...PRODUCT, code: 'P' });
      throw new Error('the last step');
    });
    await expect(failed).rejects.toThrow('the last step');
    expect(await codes(stores)).toEqual(['OLD']);
    expect(await stores.listFinishes()).toBe(before);
    expect([await stores.getLine('L'), await stores.getProduct('P'), await stores.getFinishHistory('F')]).toEqual([
      null,
      null,
      [],
    ]);
  });

  it('refuses a call that would wait for it, instead of hanging', async () => {
    const work = stores.transaction(async (tx) => {
      await tx.addProduct({ ...PRODUCT, code: 'P' });
      await stores.getProduct('P');
    });
    await expect(work).rejects.toThrow(/did not use the stores of the transaction/);
    await expect(stores.transaction(() => stores.transaction(async () => 1))).rejects.toThrow(/did not use/);
    expect(await stores.getProduct('P')).toBeNull();
  });

  it('lets other calls wait, and its own late work call again', async () => {
    let late: Promise<unknown> = Promise.resolve();
    const [begun, goOn] = [makeGate(), makeGate()];
    const work = stores.transaction(async (tx) => {
      begun.open();
      await goOn.opened;
      await tx.addProduct({ ...PRODUCT, code: 'P' });
      late = (async () => {
        for (let turn = 0; turn < 20; turn++) await setImmediate();
        return stores.getProduct('P');
      })();
    });
    await begun.opened;
    const other = stores.getProduct('P');
    goOn.open();
    await work;
    expect(await other).toMatchObject({ code: 'P' });
    expect(await late).toMatchObject({ code: 'P' });
  });

  it('joins a transaction that it is part of', async () => {
    const work = stores.transaction(async (tx) => {
      await tx.transaction((inner) => inner.addProduct({ ...PRODUCT, code: 'P' }));
      throw new Error('later');
    });
    await expect(work).rejects.toThrow('later');
    expect(await stores.getProduct('P')).toBeNull();
  });

  it('keeps lists that it read and did not change', async () => {
    await stores.putFinish(makeFinish('F'), SAVED);
    const read = await stores.transaction((tx) => tx.listFinishes());
    expect(await stores.listFinishes()).toBe(read);
    expect(await stores.transaction((tx) => tx.listFinishes())).toBe(read);
  });
});

describe('a call that the audit records', () => {
  const origin = { by: 'open', account: null, name: null, address: null } as const;
  function makeCall(what: string) {
    const make = () => ({ ...origin, at: SAVED.at, what, about: {}, status: null, refusal: null });
    const call = { make, written: false };
    return { call, run: <T>(work: () => Promise<T>) => createAccessStore(db).recordIn(call, work) };
  }
  const list = async () => (await createAccessStore(db).listRecords(0, 100)).map(({ what }) => what);

  it('has one record, in the first transaction that changes something', async () => {
    const { call, run } = makeCall('two changes');
    await run(async () => {
      await stores.getProduct('P');
      await stores.transaction(async (tx) => tx.getProduct('P'));
      // only kept to be quick
      await stores.putMapFacts('0'.repeat(64), null);
      await stores.replaceSurvey('P', 1, {} as never, []);
      expect([call.written, await list()]).toEqual([false, []]);
      await stores.addProduct({ ...PRODUCT, code: 'P' });
      expect([call.written, await list()]).toEqual([true, ['two changes']]);
      await stores.changeProduct({ ...PRODUCT, code: 'P', name: 'Changed' });
    });
    expect(await list()).toEqual(['two changes']);
  });

  it('has no record when its change fails, and one when it is tried again', async () => {
    const { call, run } = makeCall('again');
    await run(async () => {
      const failed = stores.transaction(async (tx) => {
        await tx.addProduct({ ...PRODUCT, code: 'P' });
        throw new Error('later');
      });
      await expect(failed).rejects.toThrow('later');
      expect([call.written, await list()]).toEqual([false, []]);
      await stores.addProduct({ ...PRODUCT, code: 'P' });
    });
    expect(await list()).toEqual(['again']);
  });

  it('changes nothing when its record cannot be stored', async () => {
    await sql`CREATE TRIGGER full BEFORE INSERT ON audit BEGIN SELECT RAISE(ABORT, 'full'); END`.execute(db);
    const many = Array.from({ length: 600 }, (_, at) => makeFinish(`F${at}`));
    const job = { id: 'J', kind: 'pictures', product: 'P', total: 1, request: {}, state: 'queued' } as never;
    const changes: (() => Promise<unknown>)[] = [
      () => stores.addProduct({ ...PRODUCT, code: 'P' }),
      () => stores.putBudget({ name: 'own' } as never),
      () => stores.putPictureSet({ code: 'S' } as never),
      () => createJobStore(db).add(job),
      () => stores.putFinish(makeFinish('F'), SAVED),
      // so many that they are stored in several transactions
      () => stores.putFinishes(many, () => null, SAVED),
    ];
    for (const change of changes) await expect(makeCall('lost').run(change)).rejects.toThrow('full');
    await sql`DROP TRIGGER full`.execute(db);
    expect([await stores.listProducts(), await stores.listFinishes(), await stores.listBudgets()]).toEqual([
      [],
      [],
      [],
    ]);
    expect([await stores.listPictureSets(), await createJobStore(db).listLast(10)]).toEqual([[], []]);
    for (const [at, change] of changes.entries()) await makeCall(String(at)).run(change);
    expect(await list()).toEqual(changes.map((_, at) => String(at)));
    expect(await stores.listFinishes()).toHaveLength(601);
  });

  it('cannot change anything outside of a transaction', async () => {
    const change = () => db.insertInto('budgets').values({ budget: 'own', data: '{}' }).execute();
    await expect(makeCall('lost').run(change)).rejects.toThrow(/would have no record/);
    expect(await stores.listBudgets()).toEqual([]);
  });
});

it('a snapshot reads several things as they are at one moment', async () => {
  await stores.addProduct({ ...PRODUCT, code: 'P' });
  const [begun, gate] = [makeGate(), makeGate()];
  const reading = stores.snapshot(async (at) => {
    begun.open();
    const before = (await at.getProduct('P'))!.name;
    await gate.opened;
    return [before, (await at.getProduct('P'))!.name];
  });
  await begun.opened;
  const change = stores.changeProduct({ ...PRODUCT, code: 'P', name: 'Changed' });
  for (let turn = 0; turn < 20; turn++) await setImmediate();
  gate.open();
  expect(await reading).toEqual(['Stool', 'Stool']);
  await change;
  expect((await stores.getProduct('P'))!.name).toBe('Changed');
});

function makeGate() {
  let open = () => {};
  const opened = new Promise<void>((resolve) => {
    open = resolve;
  });
  return { opened, open };
}
