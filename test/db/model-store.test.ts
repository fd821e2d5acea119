import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { createStores } from '../../db/create-stores.ts';
import { initial } from '../../db/migrations.ts';
import { Database, openDatabase } from '../../db/open-database.ts';
import type { NewModel, Stores } from '../../server/core/ports/stores.ts';
import { BUDGETS } from '../../server/core/product/budgets.ts';
import { deriveSlots } from '../../server/core/product/slot.ts';
import { makeSurvey } from '../support/make-survey.ts';

let folder: string;
let db: Awaited<ReturnType<typeof openDatabase>>;
let stores: Stores;

beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), 'dyeworks-test-'));
  db = await openDatabase(join(folder, 'test.sqlite'));
  stores = createStores(db);
  const product = { name: 'Stool', line: null, class: 'stool', mount: 'floor', sheet: null } as const;
  await stores.addProduct({ ...product, code: 'S1', budget: 'web-catalogue' });
});

afterEach(async () => {
  await db.destroy();
  rmSync(folder, { recursive: true });
});

function makeNew(materials: readonly string[], more: Partial<NewModel> = {}): NewModel {
  return {
    sha256: 'a'.repeat(64),
    bytes: 10,
    receivedSha256: null,
    origin: { kind: 'received' },
    createdAt: '2026-01-01T00:00:00.000Z',
    survey: makeSurvey(
      materials,
      materials.map((_, material) => [{ material }]),
    ),
    pieces: [],
    ...more,
  };
}

const use = (materials: readonly string[], ifCurrent?: number | null) => ({
  ...(ifCurrent === undefined ? {} : { ifCurrent }),
  derive: (known: Parameters<typeof deriveSlots>[1]) => deriveSlots(makeNew(materials).survey, known),
});

describe('revisions of a model', () => {
  it('are current one at a time; a waiting one changes nothing', async () => {
    await stores.addModel('S1', makeNew(['Seat']), use(['Seat'], null));
    const waiting = await stores.addModel('S1', makeNew(['Legs']), null);
    expect((await stores.getModel('S1'))?.revision).toBe(1);
    expect((await stores.listSlots('S1')).map(({ slot }) => slot)).toEqual(['seat']);
    expect((await stores.listRevisions('S1')).map(({ revision, current }) => [revision, current])).toEqual([
      [2, false],
      [1, true],
    ]);
    await stores.useRevision('S1', waiting.revision, use(['Legs'], 1));
    expect((await stores.getModel('S1'))?.revision).toBe(2);
    // the revision that was current keeps the places of its slots
    expect((await stores.getRevision('S1', 1))?.places).toEqual([
      { slot: 'seat', materialName: 'Seat', materials: [0] },
    ]);
  });

  it('are refused, and not stored, when another became current in the meantime', async () => {
    await stores.addModel('S1', makeNew(['Seat']), use(['Seat'], null));
    await expect(stores.addModel('S1', makeNew(['Legs']), use(['Legs'], null))).rejects.toMatchObject({
      code: 'stale-model',
    });
    expect((await stores.listRevisions('S1')).map(({ revision }) => revision)).toEqual([1]);
    await expect(stores.useRevision('S1', 7, use([], 1))).rejects.toMatchObject({ code: 'unknown-revision' });
  });

  it('store the preparation as well', async () => {
    await stores.putPreparation('S1', [{ repair: 'fix-scene' }]);
    await stores.addModel('S1', makeNew(['Seat']), {
      ...use(['Seat']),
      preparation: () => [{ repair: 'strip-unused' }],
    });
    expect(await stores.getPreparation('S1')).toEqual([{ repair: 'strip-unused' }]);
    await expect(stores.putPreparation('none', [])).rejects.toMatchObject({ code: 'unknown-product' });
  });
});

describe('budgets of the studio', () => {
  it('are stored, listed and deleted', async () => {
    const own = { ...BUDGETS[0]!, name: 'kiosk', label: 'Kiosk' };
    expect(await stores.putBudget(own)).toBe(true);
    expect(await stores.putBudget({ ...own, texturePx: 4096 })).toBe(false);
    expect(await stores.listBudgets()).toEqual([{ ...own, texturePx: 4096 }]);
    await stores.deleteBudget('kiosk');
    expect(await stores.listBudgets()).toEqual([]);
  });
});

describe('a database from before revisions could be chosen', () => {
  it('has its latest revision as the current one', async () => {
    const path = join(folder, 'old.sqlite');
    const old = new Database(path);
    old.exec(initial);
    old.pragma('user_version = 1');
    old.exec(`INSERT INTO products (product_key, code, name, class, mount) VALUES ('p', 'P', 'P', 'none', 'floor');
      INSERT INTO models VALUES ('p', 1, 'x', 1, NULL, '{}'), ('p', 3, 'y', 1, NULL, '{}');
      INSERT INTO products (product_key, code, name, class, mount) VALUES ('q', 'Q', 'Q', 'none', 'floor');`);
    old.close();
    const opened = await openDatabase(path);
    try {
      const migrated = createStores(opened);
      expect(await migrated.getModel('P')).toMatchObject({ revision: 3, sha256: 'y', origin: { kind: 'received' } });
      expect(await migrated.getModel('Q')).toBeNull();
      expect((await migrated.getProduct('P'))?.budget).toBe('web-catalogue');
    } finally {
      await opened.destroy();
    }
  });
});

describe('sizes of the products of a line', () => {
  const sized = (widthMm: number): Partial<NewModel> => ({
    sha256: widthMm.toString(16).padStart(64, '0'),
    survey: makeSurvey(['Seat'], [[{ material: 0 }]], { widthMm, depthMm: 400, heightMm: 400 }),
  });

  it('are read out of each survey once, and follow new revisions', async () => {
    await stores.putLine({ line: 'FEN', name: 'Fenwater', positions: [], range: [], rules: [] }, null);
    const product = { name: 'Stool', line: 'FEN', class: 'stool', mount: 'floor', sheet: null } as const;
    await stores.addProduct({ ...product, code: 'S2', budget: 'web-catalogue' });
    await stores.addModel('S2', makeNew(['Seat'], sized(500)), use(['Seat'], null));
    const first = await stores.listLineSizes('FEN');
    expect(first).toHaveLength(1);
    // a survey that can no longer be read shows that it is not read again
    await db.updateTable('models').set({ survey: 'not JSON' }).execute();
    expect(await stores.listLineSizes('FEN')).toEqual(first);
    await stores.addModel('S2', makeNew(['Seat'], sized(600)), use(['Seat'], 1));
    expect((await stores.listLineSizes('FEN')).map(({ size }) => size.widthMm)).toEqual([600]);
  });
});
