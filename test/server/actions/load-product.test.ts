import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { createStores } from '../../../db/create-stores.ts';
import { openDatabase } from '../../../db/open-database.ts';
import type { Context } from '../../../server/actions/context.ts';
import { putLine } from '../../../server/actions/edit-line.ts';
import { addProduct, changeProduct } from '../../../server/actions/edit-product.ts';
import { loadProduct } from '../../../server/actions/load-product.ts';
import type { Stores } from '../../../server/core/ports/stores.ts';

it('reads a product, its line and its rest at one moment, whatever others write meanwhile', async () => {
  const folder = mkdtempSync(join(tmpdir(), 'dyeworks-test-'));
  const db = await openDatabase(join(folder, 'test.sqlite'));
  const stores = createStores(db);
  const context = { stores } as unknown as Context;
  for (const line of ['A', 'B']) await putLine(context, line, { name: line });
  await addProduct(context, 'P', { name: 'In A', line: 'A' });

  const changes: Promise<unknown>[] = [];
  /** As soon as the product is read, others move it and rename its line. */
  const meddle = (inner: Stores): Stores => ({
    ...inner,
    snapshot: (work) => inner.snapshot((at) => work(meddle(at))),
    getProduct: async (code) => {
      const product = await inner.getProduct(code);
      outside(() => {
        changes.push(changeProduct(context, 'P', { name: 'In B', line: 'B' }));
        changes.push(putLine(context, 'A', { name: 'Not A' }));
      });
      await new Promise((resolve) => setTimeout(resolve, 20));
      return product;
    },
  });
  let outside: (work: () => void) => void = () => undefined;
  // the calls of others do not belong to the snapshot
  const others = new Promise<void>((resolve) => {
    outside = (work) => {
      ask = work;
      resolve();
    };
  });
  let ask: () => void = () => undefined;
  const asked = others.then(() => ask());

  const loaded = await loadProduct({ ...context, stores: meddle(stores) }, 'P');
  expect([loaded.product.name, loaded.product.line, loaded.line?.name]).toEqual(['In A', 'A', 'A']);
  await asked;
  await Promise.all(changes);
  const after = await loadProduct(context, 'P');
  expect([after.product.name, after.line?.name]).toEqual(['In B', 'B']);
  await db.destroy();
  rmSync(folder, { recursive: true });
});
