import { mkdtempSync, readdirSync, rmSync, utimesSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { sql } from 'kysely';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { type ContentFiles, createFiles } from '../../db/create-files.ts';
import { createPictureStore, type PictureFolder } from '../../db/create-picture-store.ts';
import { createStores } from '../../db/create-stores.ts';
import { listReferences } from '../../db/list-references.ts';
import { openDatabase } from '../../db/open-database.ts';
import { sweepFiles } from '../../db/sweep-files.ts';
import type { Change } from '../../server/core/history/history.ts';
import type { Stores } from '../../server/core/ports/stores.ts';
import { makeFinish } from '../support/make-finish.ts';

const DAY = 86_400_000;
const CHANGE: Change = { person: null, how: 'saved', at: '2026-01-01T00:00:00Z' };

let folder: string;
let db: Awaited<ReturnType<typeof openDatabase>>;
let stores: Stores;
let files: ContentFiles;
let pictures: PictureFolder;
let time: number;
beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), 'dyeworks-sweep-'));
  db = await openDatabase(':memory:');
  stores = createStores(db);
  files = createFiles(join(folder, 'files'));
  pictures = createPictureStore(db, join(folder, 'pictures'), 1e9);
  time = Date.now();
});
afterEach(async () => {
  await db.destroy();
  rmSync(folder, { recursive: true, force: true });
});

/** Sweeps some days later, when nobody has asked for a file for long. */
const sweepAfter = (days: number) => {
  time += days * DAY;
  return sweepFiles({ db, files, pictures, graceMs: 7 * DAY, now: () => time });
};

async function addImage(text: string, asColour: string | null = null): Promise<string> {
  const stored = await files.putBytes(Buffer.from(text));
  const encoding = { profile: null, bitsPerChannel: 8, asColour, outside: null } as const;
  await stores.addFile({ ...stored, mimeType: 'image/png', widthPx: 1, heightPx: 1, encoding });
  return stored.sha256;
}

const listed = async () => {
  const names: string[] = [];
  for await (const some of files.list()) names.push(...some);
  return names.sort();
};

describe('a file that nothing refers to', () => {
  it('is deleted a grace time after a sweep first found it, with its row', async () => {
    const image = await addImage('unused');
    const { sha256: model } = await files.putBytes(Buffer.from('model of a deleted product'));
    expect(await sweepAfter(1)).toMatchObject({ unused: 2, removed: 0 });
    expect(await sweepAfter(6)).toMatchObject({ unused: 2, removed: 0 });
    expect(await listed()).toEqual([image, model].sort());
    expect(await sweepAfter(1)).toEqual({ unused: 0, removed: 2, removedBytes: 32 });
    expect(await listed()).toEqual([]);
    expect(await stores.getFile(image)).toBeNull();
  });

  it('stays when something refers to it in between, and gets a new grace time after that', async () => {
    const image = await addImage('late');
    await sweepAfter(1);
    await stores.putFinish(makeFinish('LATE', { maps: { colour: image } }), CHANGE);
    expect(await sweepAfter(8)).toMatchObject({ unused: 0, removed: 0 });
    await stores.deleteFinish('LATE', CHANGE);
    expect(await sweepAfter(8)).toMatchObject({ unused: 1, removed: 0 });
    expect(await sweepAfter(8)).toMatchObject({ removed: 1 });
  });

  it('stays when a call stores the same bytes again while it is swept', async () => {
    const { sha256 } = await files.putBytes(Buffer.from('again'));
    await sweepAfter(1);
    time += 8 * DAY;
    // the clock of the sweep runs ahead; the call is at its time
    const realNow = Date.now;
    Date.now = () => time;
    try {
      await files.putBytes(Buffer.from('again'));
      expect(await sweepFiles({ db, files, pictures, graceMs: 7 * DAY, now: () => time })).toMatchObject({
        removed: 0,
      });
      expect(await files.has(sha256)).toBe(true);
    } finally {
      Date.now = realNow;
    }
  });

  it('stays when a call asks for its image while it is swept, whatever the step', async () => {
    // before each page of the references, and before each file, a finish begins to use the image
    for (let step = 0; step < 6; step++) {
      const image = await addImage(`asked ${step}`);
      await sweepAfter(1);
      time += 8 * DAY;
      let at = 0;
      let finish: Promise<unknown> | null = null;
      const use = async () => {
        if (at++ !== step) return;
        finish = stores
          .getFile(image)
          .then((file) => file && stores.putFinish(makeFinish(`F${step}`, { maps: { colour: image } }), CHANGE));
        await finish;
      };
      const slowFiles: ContentFiles = {
        ...files,
        async *list() {
          await use();
          for await (const some of files.list()) {
            await use();
            yield some;
          }
        },
        async removeUnused(...args) {
          await use();
          return files.removeUnused(...args);
        },
      };
      const slowPictures: PictureFolder = { ...pictures, reconcile: () => use().then(() => ({ files: 0, rows: 0 })) };
      await sweepFiles({ db, files: slowFiles, pictures: slowPictures, graceMs: 7 * DAY, now: () => time });
      const made = await stores.getFinish(`F${step}`);
      // either the finish was refused, since its image is gone, or the image is there
      expect(made === null || (await files.has(image)), `step ${step}`).toBe(true);
      if (step < 2) expect(made).not.toBeNull();
    }
  });

  it('is uploaded again as if it had never been there', async () => {
    const image = await addImage('back');
    await sweepAfter(1);
    await sweepAfter(8);
    expect(await files.has(image)).toBe(false);
    expect(await addImage('back')).toBe(image);
    expect(await stores.getFile(image)).not.toBeNull();
    expect((await files.read(image)).length).toBe(4);
  });
});

describe('a file that something refers to', () => {
  it('stays: a map of a finish or article, its earlier revisions, its copy in sRGB', async () => {
    const copy = await addImage('copy');
    const old = await addImage('old', copy);
    const now = await addImage('now');
    const ofArticle = await addImage('article');
    await stores.putArticle(
      { article: 'A', name: 'A', family: 'textile', maps: { normal: ofArticle } } as never,
      CHANGE,
    );
    await stores.putFinish(makeFinish('F', { maps: { colour: old } }), CHANGE);
    await stores.putFinish(makeFinish('F', { maps: { colour: now } }), CHANGE);
    for (let round = 0; round < 3; round++) expect(await sweepAfter(8)).toMatchObject({ unused: 0, removed: 0 });
    expect(await listed()).toEqual([copy, old, now, ofArticle].sort());
    await stores.deleteFinish('F', CHANGE);
    await sweepAfter(8);
    expect(await sweepAfter(8)).toMatchObject({ removed: 3 });
    // the same code again is another finish: the maps of the first stay free
    await stores.putFinish(makeFinish('F'), CHANGE);
    expect(await listed()).toEqual([ofArticle]);
  });

  it('stays for a digest in any text of any table, also of tables that do not exist yet', async () => {
    await sql`CREATE TABLE later (one TEXT, two TEXT)`.execute(db);
    const kept: string[] = [];
    for (let i = 0; i < 300; i++) {
      const { sha256 } = await files.putBytes(Buffer.from(`later ${i}`));
      await sql`INSERT INTO later VALUES (${'x'.repeat(i * 30)}, ${JSON.stringify({ of: [{ sha256 }] })})`.execute(db);
      kept.push(sha256);
    }
    await sweepAfter(8);
    expect(await sweepAfter(8)).toMatchObject({ unused: 0, removed: 0 });
    const found = new Set<string>();
    for await (const { sha256 } of listReferences(db)) found.add(sha256);
    expect([...found].sort()).toEqual(kept.sort());
  });
});

describe('the pictures', () => {
  it('lose files without a row, and rows without a file; those of calls under way stay', async () => {
    await pictures.put('kept', new Uint8Array(10), 'image/png');
    await pictures.put('lost', new Uint8Array(10), 'image/png');
    rmSync(join(folder, 'pictures', 'lost'));
    writeFileSync(join(folder, 'pictures', 'stray'), 'left by a crash');
    utimesSync(join(folder, 'pictures', 'stray'), 0, 0);
    const coming = pictures.put('coming', new Uint8Array(10), 'image/png');
    const [removed] = await Promise.all([pictures.reconcile(), coming]);
    expect(removed).toEqual({ files: 1, rows: 1 });
    expect(readdirSync(join(folder, 'pictures')).sort()).toEqual(['coming', 'kept']);
    expect([...(await pictures.listHeld(['kept', 'lost', 'coming'])).keys()].sort()).toEqual(['coming', 'kept']);
  });
});
