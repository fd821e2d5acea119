import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { createFinishesModel } from '../../web/pages/finishes/finishes-model.ts';
import { createLineModel } from '../../web/pages/line/line-model.ts';
import { createPictureSetsModel } from '../../web/pages/picture-sets/picture-sets-model.ts';
import { createPreparationModel } from '../../web/pages/product/preparation/preparation-model.ts';
import { createProductModel } from '../../web/pages/product/product-model.ts';
import { createScheduleModel } from '../../web/pages/product/schedule/schedule-model.ts';
import { commonTexts } from '../../web/texts/common.ts';
import { addProduct, putLineOfFinishes } from '../support/job.ts';
import { readRegistryModel } from '../support/registry-models.ts';
import { startService, type TestService } from '../support/start-service.ts';
import { stubPage } from '../support/stub-page.ts';

// The pages' models against a real service. The other person is a call that they do not know of.

let service: TestService;
let slot: string;
beforeAll(async () => {
  service = await startService();
  await putLineOfFinishes(service);
  [slot] = (await addProduct(service, 'GO', readRegistryModel('oculus-go/none.glb'))) as [string];
  stubPage(service);
});
afterAll(async () => {
  vi.unstubAllGlobals();
  await service.close();
});

const read = async (path: string) => (await service.call('GET', path)).body;
const write = async (method: string, path: string, body: object) => {
  expect((await service.call(method, path, body)).status).toBeLessThan(300);
};

describe('a save that someone else came before', () => {
  it('of a finish: says so, keeps the form, and overwrites or reloads', async () => {
    const { changes, ...model } = createFinishesModel();
    await model.load();
    const open = () => model.openFinish(model.finishes.value!.find(({ finish }) => finish === 'COAL_4')!);
    const theirs = (name: string) =>
      write('PUT', '/api/finishes/COAL_4', { name, family: 'powder-coat', colour: { hex: '#1e1e1e' } });
    open();
    model.change({ name: 'Mine' });
    await theirs('Theirs');
    await model.save();
    expect(changes.refused.value?.text).toBe(commonTexts.changedByOthers);
    expect([model.open.value, model.form.value.name]).toEqual(['COAL_4', 'Mine']);
    expect((await read('/api/finishes/COAL_4')).name).toBe('Theirs');
    await changes.refused.value!.overwrite!();
    expect([changes.refused.value, model.open.value]).toEqual([null, null]);
    expect((await read('/api/finishes/COAL_4')).name).toBe('Mine');

    open();
    model.change({ name: 'Mine again' });
    await theirs('Theirs again');
    await model.remove('COAL_4');
    expect(changes.refused.value?.text).toBe(commonTexts.changedByOthers);
    await changes.reload();
    expect([model.open.value, model.form.value.name]).toEqual(['COAL_4', 'Theirs again']);
    model.change({ name: 'On top' });
    await model.save();
    expect((await read('/api/finishes/COAL_4')).name).toBe('On top');
  });

  it('of a new finish: the other one stays', async () => {
    const { changes, ...model } = createFinishesModel();
    await model.load();
    model.openFinish(null);
    model.change({ code: 'SAME', name: 'Mine', hex: '#112233' } as never);
    await write('PUT', '/api/finishes/SAME', { name: 'Theirs', family: 'paint', colour: { hex: '#445566' } });
    await model.save();
    expect(changes.refused.value?.text).toBe(commonTexts.changedByOthers);
    expect((await read('/api/finishes/SAME')).name).toBe('Theirs');
  });

  it('of a picture set', async () => {
    const body = { name: 'Theirs', sizes: [64], format: 'png' };
    await write('PUT', '/api/picture-sets/own', body);
    const { changes, ...model } = createPictureSetsModel();
    await model.load();
    model.openSet(model.sets.value!.find(({ code }) => code === 'own')!);
    model.change({ name: 'Mine' });
    await write('PUT', '/api/picture-sets/own', { ...body, sizes: [128] });
    await model.save();
    expect(changes.refused.value?.text).toBe(commonTexts.changedByOthers);
    expect(model.form.value.name).toBe('Mine');
    expect(await read('/api/picture-sets/own')).toMatchObject({ name: 'Theirs', sizes: [128] });
    await changes.refused.value!.overwrite!();
    expect(await read('/api/picture-sets/own')).toMatchObject({ name: 'Mine', sizes: [64] });
  });

  it('of a preparation, also when it was empty at first', async () => {
    const path = '/api/products/GO/preparation';
    const [theirs, mine] = [{ repair: 'fix-scene' }, { repair: 'strip-unused' }] as const;
    const { changes, ...model } = createPreparationModel('GO', async () => undefined);
    await model.load();
    model.draft.value = [mine];
    await write('PUT', path, { steps: [theirs] });
    await model.load();
    await model.save();
    expect(changes.refused.value?.text).toBe(commonTexts.changedByOthers);
    expect(model.draft.value).toEqual([mine]);
    expect((await read(path)).steps).toEqual([theirs]);
    await changes.reload();
    expect(model.draft.value).toEqual([theirs]);
    model.draft.value = [theirs, mine];
    await model.save();
    expect((await read(path)).steps).toEqual([theirs, mine]);
    await write('PUT', path, { steps: [] });
  });

  it('of a product and of a slot', async () => {
    // the preview has no canvas here
    vi.spyOn(console, 'warn').mockReturnValue();
    const { changes, ...model } = createProductModel('GO');
    await model.load();
    await write('PATCH', '/api/products/GO', { name: 'Theirs' });
    await model.change({ mount: 'wall' });
    expect(changes.refused.value?.text).toBe(commonTexts.changedByOthers);
    expect(await read('/api/products/GO')).toMatchObject({ name: 'Theirs', mount: 'floor' });
    await changes.refused.value!.overwrite!();
    expect(await read('/api/products/GO')).toMatchObject({ name: 'Theirs', mount: 'wall' });
    await model.change({ mount: 'floor' });

    await write('PATCH', `/api/products/GO/slots/${slot}`, { label: 'Theirs' });
    await model.changeSlot(slot, { label: 'Mine' });
    expect(changes.refused.value?.text).toBe(commonTexts.changedByOthers);
    await changes.reload();
    expect(model.slots.value[0]!.label).toBe('Theirs');
    await model.changeSlot(slot, { label: 'On top' });
    expect(changes.refused.value).toBeNull();
    model.close();
  });

  it('of a line that is about to be deleted', async () => {
    await write('PUT', '/api/lines/EMPTY', { name: 'Empty' });
    const { deletion, ...model } = createLineModel('EMPTY');
    await model.load();
    let removed = 0;
    const remove = () => model.remove(() => removed++);
    await write('PUT', '/api/lines/EMPTY', { name: 'Theirs' });
    await remove();
    expect([deletion.refused.value?.text, removed]).toEqual([commonTexts.changedByOthers, 0]);
    await deletion.reload();
    expect([deletion.refused.value, model.line.value?.name]).toEqual([null, 'Theirs']);
    await write('PUT', '/api/lines/EMPTY', { name: 'Theirs again' });
    await remove();
    await deletion.refused.value!.overwrite!();
    expect([deletion.refused.value, removed]).toEqual([null, 1]);
    expect((await service.call('GET', '/api/lines/EMPTY')).status).toBe(404);
  });

  it('of the first schedule', async () => {
    const model = createScheduleModel('GO', () => undefined);
    await model.load();
    expect(model.tag.value).toBeNull();
    const choices = { [slot]: 'COAL_4' };
    const theirs = { default: 'T', variants: [{ code: 'T', name: 'Theirs', choices }] };
    model.edit(() => ({ rows: [{ key: 1, code: 'M', name: 'Mine', choices }], defaultKey: 1, nextKey: 2 }));
    await write('PUT', '/api/products/GO/schedule', theirs);
    await model.save();
    expect(model.conflict.value?.clashes).toMatchObject([{ field: 'default', mine: 'M', theirs: 'T' }]);
    expect((await read('/api/products/GO/schedule')).default).toBe('T');
    await model.resolve(new Set());
    const { default: first, variants } = await read('/api/products/GO/schedule');
    expect([first, variants.length]).toEqual(['M', 2]);
  });
});
