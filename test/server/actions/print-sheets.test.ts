import { afterAll, beforeAll, expect, it } from 'vitest';
import { createStores } from '../../../db/create-stores.ts';
import { openDatabase } from '../../../db/open-database.ts';
import type { Context } from '../../../server/actions/context.ts';
import { putFinish } from '../../../server/actions/edit-finish.ts';
import { putLine } from '../../../server/actions/edit-line.ts';
import { printColourCard } from '../../../server/actions/print-sheets.ts';
import { workFor } from '../../../server/actions/turns.ts';
import type { Turn } from '../../../server/core/ports/renderer.ts';

// A sheet may need hundreds of pictures. They come after the pictures that persons ask for one by one.

let db: Awaited<ReturnType<typeof openDatabase>>;
beforeAll(async () => {
  db = await openDatabase(':memory:');
});
afterAll(() => db.destroy());

it('the pictures of a sheet take their turns as those of a job do, and a guest’s as a guest’s', async () => {
  const turns: string[] = [];
  const note = async (turn: Turn | undefined) => {
    turns.push(`${turn?.rank} ${turn?.name}`);
    return new Uint8Array();
  };
  const context = {
    stores: createStores(db),
    pictures: { get: async () => null, put: async (_: string, bytes: Uint8Array) => ({ bytes }) },
    models: { writeFinishGlb: async () => new Uint8Array() },
    imaging: { encode: async () => new Uint8Array() },
    renderer: {
      takeSwatch: (_: unknown, turn: Turn) => note(turn),
      printSheet: (_: unknown, __: unknown, turn: Turn) => note(turn),
    },
    now: () => new Date('2026-01-01T00:00:00Z'),
  } as unknown as Context;
  for (const [code, hex] of [
    ['BRASS', '#c8a452'],
    ['STEEL', '#9a9a98'],
  ] as const) {
    await putFinish(context, code, { name: code, family: 'bare-metal', colour: { hex } }, { person: null });
  }
  await putLine(context, 'L', { name: 'Line', range: [{ finish: 'BRASS' }, { finish: 'STEEL' }] });
  const print = () => printColourCard(context, 'L', { paper: 'a4', bleedMm: 0, press: false });
  await workFor({ rank: 'person', name: 'ada' }, print);
  expect(turns).toEqual(['job ada', 'job ada', 'job ada']);
  await workFor({ rank: 'guest', name: 'web' }, print);
  expect(turns.slice(3)).toEqual(['guest web', 'guest web', 'guest web']);
});
