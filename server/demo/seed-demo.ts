import { Worker } from 'node:worker_threads';
import type { Context } from '../actions/context.ts';
import { putArticle, putFinish } from '../actions/edit-finish.ts';
import { putLine } from '../actions/edit-line.ts';
import { addProduct, changeSlot } from '../actions/edit-product.ts';
import { putSchedule } from '../actions/edit-schedule.ts';
import { addFile } from '../actions/image-files.ts';
import { receiveModel } from '../actions/receive-model.ts';
import type { FinishMaps } from '../core/finish/finish.ts';
import type { Author } from '../core/history/history.ts';
import type { DemoPack } from './build-demo.ts';

/** The history of the demo states that no person made it. */
const DEMO: Author = { person: null, note: 'Came with the demo line' };

/**
 * Fills an empty store with the demo line through the actions that users have. It changes no store that has any data.
 * @returns the codes of the products that it has added
 */
export async function seedDemo(context: Context, worker: URL): Promise<readonly string[]> {
  const { stores } = context;
  const [products, finishes, lines] = await Promise.all([
    stores.listProducts(),
    stores.listFinishes(),
    stores.listLines(),
  ]);
  if (products.length + finishes.length + lines.length > 0) return [];
  const pack = await buildInWorker(worker);

  const digests = new Map<string, string>();
  for (const { name, bytes } of pack.files) digests.set(name, (await addFile(context, bytes)).sha256);
  const withDigests = (maps: FinishMaps | undefined): FinishMaps | undefined =>
    maps && Object.fromEntries(Object.entries(maps).map(([use, name]) => [use, digests.get(name as string)]));
  for (const { article, ...given } of pack.articles)
    await putArticle(context, article, { ...given, maps: withDigests(given.maps) }, DEMO);
  for (const { finish, ...given } of pack.finishes)
    await putFinish(context, finish, { ...given, maps: withDigests(given.maps) }, DEMO);
  const { line, ...given } = pack.line;
  await putLine(context, line, given);
  for (const product of pack.products) {
    const { code, name, mount, sheet } = product;
    await addProduct(context, code, { name, line, class: product.class as never, mount, sheet });
    await receiveModel(context, code, 'model/gltf-binary', oneChunk(product.model), {
      limitBytes: product.model.length,
    });
    for (const { slot, ...change } of product.slots) await changeSlot(context, code, slot, change);
    await putSchedule(context, code, product.schedule, null);
  }
  return pack.products.map(({ code }) => code);
}

/** Modelling computes for seconds, so it has a thread of its own. */
function buildInWorker(entry: URL): Promise<DemoPack> {
  return new Promise((resolve, reject) => {
    const worker = new Worker(entry);
    worker.once('message', resolve);
    worker.once('error', reject);
    worker.once('exit', (code) => reject(new Error(`the demo's thread ended with ${code}`)));
  });
}

async function* oneChunk(bytes: Uint8Array): AsyncGenerator<Uint8Array> {
  yield bytes;
}
