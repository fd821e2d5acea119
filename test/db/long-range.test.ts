import { createHash } from 'node:crypto';
import { afterEach, beforeEach, expect, it } from 'vitest';
import { createStores } from '../../db/create-stores.ts';
import { openDatabase } from '../../db/open-database.ts';
import type { Line, RangeEntry } from '../../server/core/line/line.ts';
import type { Stores } from '../../server/core/ports/stores.ts';
import { SAVED } from '../support/changes.ts';
import { makeFinish } from '../support/make-finish.ts';

const COUNT = 2600;

let db: Awaited<ReturnType<typeof openDatabase>>;
let stores: Stores;

beforeEach(async () => {
  db = await openDatabase(':memory:');
  stores = createStores(db);
  const finishes = Array.from({ length: COUNT }, (_, i) => makeFinish(`F-${i}`));
  await stores.putFinishes(finishes, () => null, SAVED);
});
afterEach(() => db.destroy());

const makeRange = (count = COUNT): RangeEntry[] =>
  Array.from({ length: count }, (_, i) => ({
    finish: `F-${i}`,
    ...(i % 3 === 0 && { grade: 'A' }),
    status: 'current',
  }));
const makeLine = (range: readonly RangeEntry[], name = 'Long'): Line => ({
  ...{ line: 'LONG', name, positions: [], range, rules: [] },
});

/** How many turns of the event loop others get during some work. */
async function countTurns(work: () => Promise<unknown>): Promise<number> {
  let turns = 0;
  let pending: NodeJS.Immediate;
  const count = () => {
    turns++;
    pending = setImmediate(count);
  };
  pending = setImmediate(count);
  await work();
  clearImmediate(pending);
  return turns;
}

it('is written and read in parts, with turns of the event loop in between', async () => {
  expect(await countTurns(() => stores.putLine(makeLine(makeRange()), null))).toBeGreaterThanOrEqual(COUNT / 100 - 1);
  expect(await countTurns(() => stores.getLine('LONG'))).toBeGreaterThanOrEqual(Math.floor(COUNT / 500));
  expect(await countTurns(() => stores.getTaggedLine('LONG'))).toBeGreaterThanOrEqual(2 * Math.floor(COUNT / 500));
});

it.each([
  ['nothing', (range: RangeEntry[]) => range, 0],
  ['one entry', (range: RangeEntry[]) => range.with(7, { finish: 'F-7', status: 'phase-out' }), 1],
  ['two places', (range: RangeEntry[]) => range.with(7, range[8]!).with(8, range[7]!), 2],
  ['the end', (range: RangeEntry[]) => range.slice(0, -700), 700],
  ['everything', (range: RangeEntry[]) => range.toReversed(), COUNT],
  ['all of it away', () => [], COUNT],
])('writes only what changed: %s', async (_, change, rows) => {
  await stores.putLine(makeLine(makeRange()), null);
  const count = async () => {
    const { changed } = await db
      .selectNoFrom((eb) => eb.fn<number>('total_changes').as('changed'))
      .executeTakeFirstOrThrow();
    return changed;
  };
  const next = makeLine(change(makeRange()), 'Other');
  const before = await count();
  await stores.putLine(next, null);
  const after = await count();
  // beside the line itself, and what triggers note
  expect(after - before).toBeLessThanOrEqual(4 * (rows + 3));
  expect(await stores.getLine('long')).toEqual(next);
  expect(await stores.listLines()).toEqual([next]);
});

it('has the tag of its JSON, however it is read', async () => {
  for (const count of [0, 1, 500, COUNT]) {
    await stores.putLine(makeLine(makeRange(count)), null);
    const { line, tag } = (await stores.getTaggedLine('LONG'))!;
    expect(tag).toBe(createHash('sha256').update(JSON.stringify(line)).digest('hex'));
  }
});

it('is read as it was at one moment', async () => {
  await stores.putLine(makeLine(makeRange()), null);
  const reversed = makeLine(makeRange().toReversed());
  const [read] = await Promise.all([stores.getLine('LONG'), stores.putLine(reversed, null)]);
  expect([makeLine(makeRange()), reversed]).toContainEqual(read);
});
