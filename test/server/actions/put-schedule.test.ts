import { afterEach, beforeEach, expect, it } from 'vitest';
import { createStores } from '../../../db/create-stores.ts';
import { openDatabase } from '../../../db/open-database.ts';
import { putSchedule } from '../../../server/actions/edit-schedule.ts';
import type { Stores } from '../../../server/core/ports/stores.ts';
import { deriveSlots } from '../../../server/core/product/slot.ts';
import type { Schedule } from '../../../server/core/schedule/schedule.ts';
import { SLICE } from '../../../server/core/slices.ts';
import { SAVED, STAMP } from '../../support/changes.ts';
import { makeFinish } from '../../support/make-finish.ts';
import { makeSurvey } from '../../support/make-survey.ts';
import { expectRefusal } from '../../support/refusal.ts';

let db: Awaited<ReturnType<typeof openDatabase>>;
let stores: Stores;

beforeEach(async () => {
  db = await openDatabase(':memory:');
  stores = createStores(db);
  await stores.putFinish(makeFinish('OAK'), SAVED);
  await stores.addProduct({
    ...{ code: 'P', name: 'P', line: null, class: 'none', mount: 'floor', sheet: null, budget: 'web-catalogue' },
  } as Parameters<Stores['addProduct']>[0]);
  await addModel(['Seat']);
});
afterEach(() => db.destroy());

async function addModel(materials: readonly string[]): Promise<void> {
  const survey = makeSurvey(
    materials,
    materials.map((_, material) => [{ material }]),
  );
  const model = {
    ...{ sha256: 'a'.repeat(64), bytes: 10, receivedSha256: null, origin: { kind: 'received' } as const },
    ...{ createdAt: STAMP.at, survey, pieces: [] },
  };
  const now = await stores.getModel('P');
  await stores.addModel('P', model, { ifCurrent: now?.revision ?? null, derive: () => deriveSlots(survey, []) });
}

const makeSchedule = (rows: number, name = 'Row'): Schedule => ({
  default: 'V0',
  variants: Array.from({ length: rows }, (_, i) => ({ code: `V${i}`, name: `${name} ${i}`, choices: { seat: 'OAK' } })),
});

/** Stores in which something happens just before a transaction begins. */
const before = (happens: () => Promise<unknown>): Stores => ({
  ...stores,
  transaction: (work) => happens().then(() => stores.transaction(work)),
});

it('a long schedule is checked and written before its transaction, in which no other call has to wait for it', async () => {
  const rows = 20_000;
  let turns = 0;
  let began = Number.NaN;
  let ended = Number.NaN;
  let pending: NodeJS.Immediate;
  const count = () => {
    turns++;
    pending = setImmediate(count);
  };
  pending = setImmediate(count);
  const counted: Stores = {
    ...stores,
    async transaction(work) {
      return stores.transaction(async (tx) => {
        began = turns;
        const result = await work(tx);
        ended = turns;
        return result;
      });
    },
  };
  await putSchedule({ stores: counted }, 'P', makeSchedule(rows), null);
  clearImmediate(pending);
  // checked and written in slices, each with a turn of the event loop
  expect(began).toBeGreaterThanOrEqual(2 * (rows / SLICE - 1));
  expect(ended - began).toBeLessThanOrEqual(1);
});

it('a schedule that others change meanwhile is checked again, and the last one holds', async () => {
  let times = 0;
  const others = before(async () => {
    if (times++ < 3) await putSchedule({ stores }, 'P', makeSchedule(2, `Other ${times}`), null);
  });
  await putSchedule({ stores: others }, 'P', makeSchedule(1, 'Own'), null);
  expect(times).toBe(4);
  expect((await stores.getSchedule('P'))!.schedule).toEqual(makeSchedule(1, 'Own'));
});

it('a schedule with a tag is refused if others change it meanwhile, and theirs stays', async () => {
  const { tag } = await putSchedule({ stores }, 'P', makeSchedule(1), null);
  const others = before(() => putSchedule({ stores }, 'P', makeSchedule(2, 'Other'), null));
  await expectRefusal(() => putSchedule({ stores: others }, 'P', makeSchedule(1, 'Own'), tag), 'stale-schedule');
  expect((await stores.getSchedule('P'))!.schedule).toEqual(makeSchedule(2, 'Other'));
});

it('a schedule is checked by the slots and finishes that it is stored with', async () => {
  const replaced = before(() => addModel(['Legs']));
  await expectRefusal(() => putSchedule({ stores: replaced }, 'P', makeSchedule(1), null), 'unknown-slot');
  await addModel(['Seat']);
  const deleted = before(() => stores.deleteFinish('OAK', STAMP));
  await expectRefusal(() => putSchedule({ stores: deleted }, 'P', makeSchedule(1), null), 'unknown-finish');
  expect(await stores.getSchedule('P')).toBeNull();
});

it('a product that is deleted meanwhile stays deleted', async () => {
  const deleted = before(() => stores.deleteProduct('P'));
  await expectRefusal(() => putSchedule({ stores: deleted }, 'P', makeSchedule(1), null), 'unknown-product');
});
