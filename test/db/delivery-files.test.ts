import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, it } from 'vitest';
import { createStores } from '../../db/create-stores.ts';
import { listReferences } from '../../db/list-references.ts';
import { openDatabase } from '../../db/open-database.ts';
import { checkCommand } from '../../server/commands/check.ts';
import type { DeliveryFile, DeliveryManifest } from '../../server/core/delivery/delivery.ts';
import { refusalOf } from '../support/refusal.ts';

const SHA = 'a'.repeat(64);
const OTHER = 'b'.repeat(64);

let folder: string;
let db: Awaited<ReturnType<typeof openDatabase>>;
let stores: ReturnType<typeof createStores>;
beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), 'dyeworks-delivery-files-'));
  db = await openDatabase(join(folder, 'dyeworks.sqlite'));
  stores = createStores(db);
  await stores.addProduct({
    code: 'CHAIR',
    name: 'Chair',
    line: null,
    class: 'none',
    mount: 'floor',
    sheet: null,
    budget: 'web',
  } as unknown as Parameters<typeof stores.addProduct>[0]);
  await stores.addDelivery(
    'CHAIR',
    await stores.writeManifest({
      file: { sha256: OTHER, bytes: 1 },
      variants: [],
      finishes: [],
      createdAt: '',
    } as unknown as DeliveryManifest),
  );
});
afterEach(async () => {
  await db.destroy();
  rmSync(folder, { recursive: true, force: true });
});

const made = (form: string, over: Partial<DeliveryFile> = {}): DeliveryFile => ({
  form,
  stored: true,
  sha256: SHA,
  bytes: 7,
  mediaType: 'model/gltf-binary',
  details: { loss: 'none' },
  ...over,
});

it('keeps what was sent once, and fills in what is not known yet', async () => {
  await stores.addDeliveryFiles('chair', 1, [
    made('forms/webp.glb'),
    made('parts/wool.glb', { stored: false, sha256: null, bytes: null }),
  ]);
  await stores.addDeliveryFiles('CHAIR', 1, [
    made('forms/webp.glb', { sha256: OTHER }),
    made('parts/wool.glb', { stored: false, bytes: 9, details: {} }),
  ]);
  expect(await stores.listDeliveryFiles('CHAIR', 1)).toEqual([
    made('forms/webp.glb'),
    made('parts/wool.glb', { stored: false, bytes: 9 }),
  ]);
  expect(await stores.getDeliveryFile('CHAIR', 1, 'forms/ktx2.glb')).toBeNull();
  expect((await refusalOf(() => stores.addDeliveryFiles('CHAIR', 2, [made('x.glb')]))).code).toBe('unknown-delivery');
});

it('keeps content files, reports missing ones, and frees both with the product', async () => {
  await stores.addDeliveryFiles('CHAIR', 1, [
    made('forms/webp.glb'),
    made('variants/A.glb', { stored: false, sha256: 'c'.repeat(64) }),
  ]);
  const referred: string[] = [];
  for await (const { sha256, table } of listReferences(db)) if (table === 'delivery_files') referred.push(sha256);
  expect(referred).toContain(SHA);
  await db.destroy();
  const lines: string[] = [];
  const { log } = console;
  console.log = (line: string) => void lines.push(line);
  try {
    await checkCommand(['--json'], { DYEWORKS_DATA: folder });
  } finally {
    console.log = log;
  }
  const { remarks } = JSON.parse(lines.join('\n')) as { remarks: { code: string; subject: string }[] };
  expect(remarks.filter(({ code }) => code === 'missing-file').map(({ subject }) => subject)).toEqual([SHA, OTHER]);
  db = await openDatabase(join(folder, 'dyeworks.sqlite'));
  stores = createStores(db);
  await stores.deleteProduct('CHAIR');
  expect(await stores.listDeliveryFiles('CHAIR', 1)).toEqual([]);
});
