import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { createHistory } from '../../web/pages/product/bench/history.ts';
import { createPreparationModel } from '../../web/pages/product/preparation/preparation-model.ts';
import { createProductModel } from '../../web/pages/product/product-model.ts';
import { addProduct, putLineOfFinishes } from '../support/job.ts';
import { readRegistryModel } from '../support/registry-models.ts';
import { startService, type TestService } from '../support/start-service.ts';
import { stubPage } from '../support/stub-page.ts';

// Undo of what was saved, against a real service: the state that the service answers is the one from before the change.

let service: TestService;
let slot: string;
const answered: string[] = [];
beforeAll(async () => {
  service = await startService();
  await putLineOfFinishes(service);
  [slot] = (await addProduct(service, 'GO', readRegistryModel('oculus-go/none.glb'))) as [string];
  stubPage(service, (method, path) => answered.push(`${method} ${path}`));
  // the view has no canvas here
  vi.spyOn(console, 'warn').mockReturnValue();
});
afterAll(async () => {
  vi.unstubAllGlobals();
  await service.close();
});

const read = async (path: string) => (await service.call('GET', path)).body;
const findSlot = async () =>
  (await read('/api/products/GO/slots')).slots.find((one: { slot: string }) => one.slot === slot);

describe('undo on the bench', () => {
  it('brings back a product and a slot as the service had them, and does it again', async () => {
    const model = createProductModel('GO');
    await model.load();
    const before = [await read('/api/products/GO'), await findSlot()];
    await model.change({ name: 'Another name', mount: 'wall' });
    await model.changeSlot(slot, { label: 'Another label', keep: { wear: false } });
    const after = [await read('/api/products/GO'), await findSlot()];
    expect(after).not.toEqual(before);
    await model.history.undo();
    await model.history.undo();
    expect(await read('/api/products/GO')).toEqual(before[0]);
    expect(await findSlot()).toMatchObject({ label: before[1].label, keep: before[1].keep });
    await model.history.redo();
    await model.history.redo();
    expect([await read('/api/products/GO'), await findSlot()]).toEqual(after);
    await model.history.undo();
    await model.history.undo();
    model.close();
  });

  it('says why it cannot, and keeps the step, when someone else has changed the same thing since', async () => {
    const model = createProductModel('GO');
    await model.load();
    await model.change({ name: 'Mine' });
    await service.call('PATCH', '/api/products/GO', { name: 'Theirs' });
    await model.history.undo();
    expect(model.history.problem.value).not.toBeNull();
    expect(model.history.nextUndo.value).toBe('name of the product');
    expect((await read('/api/products/GO')).name).toBe('Theirs');
    model.close();
  });

  it('brings the edits of a preparation back with the page, and saves them over the version that they began with', async () => {
    const path = '/api/products/GO/preparation';
    const [one, two] = [{ repair: 'strip-unused' }, { repair: 'fix-scene' }] as const;
    await service.call('PUT', path, { steps: [one, two] });
    const first = createPreparationModel('GO', async () => undefined);
    await first.load();
    first.remove(0);
    first.close();
    const second = createPreparationModel('GO', async () => undefined);
    await second.load();
    expect([second.draft.value, second.changed.value]).toEqual([[two], true]);
    await second.save();
    expect((await read(path)).steps).toEqual([two]);
    second.close();
    const third = createPreparationModel('GO', async () => undefined);
    await third.load();
    expect(third.changed.value).toBe(false);
  });

  it('goes back over the order and the saves of a preparation', async () => {
    const path = '/api/products/GO/preparation';
    const [one, two] = [{ repair: 'strip-unused' }, { repair: 'fix-scene' }] as const;
    await service.call('PUT', path, { steps: [one, two] });
    const history = createHistory();
    const model = createPreparationModel('GO', async () => undefined, history);
    await model.load();
    model.move(0, 1);
    await model.save();
    expect((await read(path)).steps).toEqual([two, one]);
    model.remove(0);
    expect(model.draft.value).toEqual([one]);
    await history.undo();
    expect(model.draft.value).toEqual([two, one]);
    await history.undo();
    expect((await read(path)).steps).toEqual([one, two]);
    expect(model.changed.value).toBe(false);
    await history.redo();
    expect((await read(path)).steps).toEqual([two, one]);
    await service.call('PUT', path, { steps: [] });
  });
});

it('a view asks again for its file when the schedule is saved, since the file may have finishes of the schedule only', async () => {
  const model = createProductModel('GO');
  await model.load();
  model.schedule.edit(() => ({
    rows: [{ key: 1, code: 'A', name: 'A', choices: { [slot]: 'COAL_4' } }],
    defaultKey: 1,
    nextKey: 2,
  }));
  answered.length = 0;
  await model.schedule.save();
  await vi.waitFor(() => expect(answered).toContain('GET /api/products/GO/look'));
  expect(answered.indexOf('PUT /api/products/GO/schedule')).toBe(0);
  model.close();
});
