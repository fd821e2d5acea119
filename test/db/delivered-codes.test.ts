import { expect, it } from 'vitest';
import { createStores } from '../../db/create-stores.ts';
import { MIGRATIONS } from '../../db/migrations.ts';
import { Database, migrate, openDatabase } from '../../db/open-database.ts';
import type { DeliveryManifest } from '../../server/core/delivery/delivery.ts';

const makeManifest = (codes: readonly string[], delivery = 1) =>
  ({
    delivery,
    file: { sha256: 'a'.repeat(64), bytes: 1 },
    variants: codes.map((code) => ({ code, name: code, choices: {} })),
    finishes: [{ finish: 'OAK' }],
    createdAt: '',
  }) as unknown as DeliveryManifest;

it('keeps the codes of all variants that were ever delivered, without reading a manifest', async () => {
  const db = await openDatabase(':memory:');
  const stores = createStores(db);
  const product = {
    code: 'CHAIR',
    name: 'Chair',
    line: null,
    class: 'none',
    mount: 'floor',
    sheet: null,
    budget: 'web',
  };
  await stores.addProduct(product as unknown as Parameters<typeof stores.addProduct>[0]);
  const many = Array.from({ length: 1201 }, (_, i) => `V${i}`);
  await stores.addDelivery('CHAIR', await stores.writeManifest(makeManifest(many)));
  await stores.addDelivery('CHAIR', await stores.writeManifest(makeManifest(['V1', 'v1', 'W'])));
  await db.updateTable('deliveries').set({ manifest: 'not read' }).execute();
  expect((await stores.listDeliveredCodes('chair')).sort()).toEqual([...many, 'W', 'v1'].sort());
  expect(await stores.listDeliveredFinishes('chair', 2)).toEqual(['oak']);
  await stores.deleteProduct('CHAIR');
  expect(await db.selectFrom('delivered_codes').selectAll().execute()).toEqual([]);
  await db.destroy();
});

it('knows the codes of deliveries from before the migration', async () => {
  const sqlite = new Database(':memory:');
  const scripts = Object.entries(MIGRATIONS);
  const before = scripts.findIndex(([name]) => name.endsWith('delivered-codes'));
  for (const [, script] of scripts.slice(0, before)) sqlite.exec(script);
  sqlite.pragma(`user_version = ${before}`);
  sqlite.pragma('foreign_keys = OFF');
  const add = sqlite.prepare(
    "INSERT INTO deliveries (product_key, delivery, sha256, bytes, variants, created_at, manifest) VALUES ('chair', ?, '', 1, 1, '', ?)",
  );
  add.run(1, JSON.stringify(makeManifest(['A', 'B'])));
  add.run(2, JSON.stringify(makeManifest(['B', 'C'])));
  await migrate(sqlite);
  const codes = sqlite.prepare('SELECT code FROM delivered_codes ORDER BY code').pluck().all();
  expect(codes).toEqual(['A', 'B', 'C']);
  sqlite.close();
});
