import sharp from 'sharp';
import { afterEach, beforeEach, expect, it, vi } from 'vitest';
import { createStores } from '../../../db/create-stores.ts';
import { openDatabase } from '../../../db/open-database.ts';
import type { Context } from '../../../server/actions/context.ts';
import { recallMapFacts } from '../../../server/actions/finish-maps.ts';
import { loadFinishes } from '../../../server/actions/load-finishes.ts';
import { searchFinishes } from '../../../server/actions/search-finishes.ts';
import { listNearest } from '../../../server/core/finish/search-colours.ts';
import type { PlanTask } from '../../../server/core/ports/planner.ts';
import { measureMap } from '../../../server/images/measure-map.ts';

let db: Awaited<ReturnType<typeof openDatabase>>;
beforeEach(async () => {
  db = await openDatabase(':memory:');
  vi.useFakeTimers({ toFake: ['Date', 'performance'] });
});
afterEach(async () => {
  vi.useRealTimers();
  await db.destroy();
});

const sha256 = 'c'.repeat(64);
const change = { how: 'saved', person: null, at: '2026-01-01T00:00:00.000Z' } as const;

/** A map of one grey, whose reading fails as long as `lost` says; everything else is real. */
async function open() {
  const stores = createStores(db);
  const bytes = await sharp({ create: { width: 4, height: 4, channels: 3, background: '#808080' } })
    .png()
    .toBuffer();
  const state = { lost: true, asked: 0 };
  const context = {
    stores,
    files: { read: async () => bytes },
    imaging: {
      measureMap: async (image: Uint8Array) => {
        state.asked++;
        if (state.lost) throw new Error('the thread was lost');
        return measureMap(image);
      },
    },
    planner: {
      run: async (task: Extract<PlanTask, { kind: 'nearest' }>) => listNearest(task.colours, task.lab, task.limit),
    },
  } as unknown as Context;
  return { context, stores, state };
}

it('a map that could not be read is tried again after a minute, and the finishes that have it are resolved anew', async () => {
  const { context, stores, state } = await open();
  await stores.putFinish({ finish: 'F1', name: 'One', family: 'textile', maps: { colour: sha256 } }, change);
  const lost = await loadFinishes(context);
  expect(lost.resolve('F1').delivered).toBeNull();
  expect((await searchFinishes(context, { near: [50, 0, 0], limit: 5 })).found).toEqual([]);
  state.lost = false;
  // not at every request: decoding an image that is damaged for good would hold up every page
  expect(await loadFinishes(context)).toBe(lost);
  expect(state.asked).toBe(1);
  vi.advanceTimersByTime(61_000);
  const found = await loadFinishes(context);
  expect(found.resolve('F1').delivered?.hex).toBe('#808080');
  expect(await loadFinishes(context)).toBe(found);
  // CIE Lab of #808080 has L* 53.585; the search by colour goes by the measured map too
  const [nearest] = (await searchFinishes(context, { near: [53.585, 0, 0], limit: 5 })).found;
  expect(nearest!.deltaE).toBeLessThan(0.01);
});

it('measures a map once, and stores what was measured', async () => {
  const { context, stores, state } = await open();
  state.lost = false;
  const [first, second] = await Promise.all([recallMapFacts(context, sha256), recallMapFacts(context, sha256)]);
  expect(state.asked).toBe(1);
  expect(second).toBe(first);
  expect(await stores.getMapFacts(sha256)).toEqual(first);
  // 128 of 255 by IEC 61966-2-1
  expect(first!.content.linearMean[0]).toBeCloseTo(((128 / 255 + 0.055) / 1.055) ** 2.4, 6);
});
