import { rm } from 'node:fs/promises';
import { join } from 'node:path';
import { createStores } from '../../db/create-stores.ts';
import { openDatabase } from '../../db/open-database.ts';
import { addProduct, putLineOfFinishes } from './job.ts';
import { readRegistryModel } from './registry-models.ts';
import { startService } from './start-service.ts';

/**
 * Fills a data folder with products that all have the same small model, half of them in the line FEN. Only the first is
 * uploaded: the others get its survey, which takes milliseconds.
 */
export async function addManyProducts(folder: string, count: number): Promise<void> {
  const service = await startService({}, folder);
  await putLineOfFinishes(service);
  await addProduct(service, 'P-0001', readRegistryModel('oculus-go/none.glb'));
  await service.close();
  await rm(join(folder, 'lock.sqlite'), { force: true });
  const db = await openDatabase(join(folder, 'dyeworks.sqlite'));
  try {
    const stores = createStores(db);
    const product = (await stores.getProduct('P-0001'))!;
    const { revision, ...model } = (await stores.getModel('P-0001'))!;
    const pieces = await stores.listPieces('P-0001', revision);
    const slots = await stores.listSlots('P-0001');
    await stores.transaction(async (tx) => {
      for (let number = 2; number <= count; number++) {
        const code = `P-${String(number).padStart(4, '0')}`;
        const line = number % 2 === 0 ? null : product.line;
        await tx.addProduct({ ...product, code, name: `Product number ${number}`, line });
        await tx.addModel(code, { ...model, pieces }, { derive: () => slots });
      }
    });
  } finally {
    await db.destroy();
  }
}
