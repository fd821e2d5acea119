import { afterAll, beforeAll, expect, it } from 'vitest';
import { addTwoPositions, GLB, putLineOfFinishes } from '../support/job.ts';
import { readRegistryModel } from '../support/registry-models.ts';
import { startService, type TestService } from '../support/start-service.ts';

// An approval of a variant lapses with everything that changes its look, and with nothing else.
// Model: @webxr-input-profiles/assets 1.0.20 (MIT).

const PATH = '/api/products/TOUCH/variants/V1/approvals';
const YES = { decision: 'approved', person: 'Ada', light: 'D65', shown: 'sample' };

let service: TestService;
let shell: string;
let trim: string;

beforeAll(async () => {
  service = await startService();
  await putLineOfFinishes(service);
  [shell, trim] = await addTwoPositions(service);
  await put('/api/products/TOUCH/schedule', schedule('TARN.3'));
  await service.call('POST', PATH, YES);
});
afterAll(() => service.close());

const schedule = (onShell: string, name = 'First') => ({
  default: 'V1',
  variants: [{ code: 'V1', name, choices: { [shell]: onShell, [trim]: 'OAK-1' } }],
});

async function put(path: string, body: unknown, headers?: Record<string, string>): Promise<void> {
  const answer = await service.call('PUT', path, body, headers);
  expect([200, 201], JSON.stringify(answer.body)).toContain(answer.status);
}

async function patch(path: string, body: unknown): Promise<void> {
  expect((await service.call('PATCH', path, body)).status).toBe(200);
}

const tell = async () => {
  const { state, lapsedBecause } = (await service.call('GET', PATH)).body;
  const { variants } = (await service.call('GET', '/api/products/TOUCH/approvals')).body;
  expect(variants).toMatchObject([{ variant: 'V1', state, ...(lapsedBecause && { lapsedBecause }) }]);
  return lapsedBecause ?? state;
};

const oak = (more: object) => ({ name: 'Oiled oak', family: 'wood', colour: { hex: '#b08a5b' }, ...more });

it('stays valid when the look does not change: names, labels, grades, tags, another preparation', async () => {
  await put('/api/finishes/OAK-1', oak({ name: 'Oak', note: 'Ask the mill', tags: ['warm'], status: 'phase-out' }));
  await patch(`/api/products/TOUCH/slots/${shell}`, { label: 'Body' });
  await patch('/api/products/TOUCH', { name: 'Another name', class: 'stool' });
  await put('/api/products/TOUCH/schedule', schedule('TARN.3', 'Another name'));
  await put('/api/products/TOUCH/preparation', { steps: [] });
  expect(await tell()).toBe('approved');
});

it('lapses when a finish changes, and is valid again when the change is undone', async () => {
  await put('/api/finishes/OAK-1', oak({ roughness: 0.21 }));
  expect(await tell()).toMatch(/^The finish OAK-1 on “.+” has changed\.$/);
  await put('/api/finishes/OAK-1', oak({}));
  expect(await tell()).toBe('approved');
});

it('lapses when the article of a finish changes', async () => {
  const article = (roughness: number) => ({ name: 'Oak', family: 'wood', roughness });
  await put('/api/articles/OAK', article(0.4));
  await put('/api/finishes/OAK-1', oak({ article: 'OAK' }));
  await service.call('POST', PATH, YES);
  expect(await tell()).toBe('approved');
  await put('/api/articles/OAK', article(0.41));
  expect(await tell()).toContain('OAK-1');
  await put('/api/articles/OAK', { ...article(0.4), composition: 'oak, oiled' });
  expect(await tell()).toBe('approved');
});

it('lapses when a slot gets another finish, keeps other properties or turns its grain', async () => {
  await put('/api/products/TOUCH/schedule', schedule('COAL_4'));
  expect(await tell()).toBe('“Body” has COAL_4 now; it had TARN.3.');
  await put('/api/products/TOUCH/schedule', schedule('TARN.3'));
  const path = `/api/products/TOUCH/slots/${shell}`;
  await patch(path, { keep: { occlusion: false } });
  expect(await tell()).toBe('“Body” keeps other properties of its part now.');
  await patch(path, { keep: { occlusion: true }, grainDegrees: 90 });
  expect(await tell()).toBe('The grain direction on “Body” changed from 0° to 90°.');
  await patch(path, { grainDegrees: 0, fixed: true });
  expect(await tell()).toBe('“Body” is fixed now and shows the model’s own material.');
  await patch(path, { fixed: false });
  expect(await tell()).toBe('approved');
});

it('lapses when a standing product is mounted hanging', async () => {
  await patch('/api/products/TOUCH', { mount: 'ceiling' });
  expect(await tell()).toBe('The mount changed from floor to ceiling.');
  await patch('/api/products/TOUCH', { mount: 'floor' });
  expect(await tell()).toBe('approved');
});

it('lapses with another model, and is valid again for the model it was given for', async () => {
  await put('/api/products/TOUCH/model', readRegistryModel('oculus-touch/right.glb'), GLB);
  expect(await tell()).toBe('The model changed from revision 1 to revision 2.');
  await service.call('POST', '/api/products/TOUCH/revisions/1/use');
  expect(await tell()).toBe('approved');
});

it('a product with the code of a deleted one inherits only the next numbers', async () => {
  await put('/api/products/TOUCH/preparation', { steps: [{ repair: 'merge-parts' }] });
  await service.call('POST', '/api/products/TOUCH/pictures', { sizes: [40] });
  expect((await service.call('POST', '/api/products/TOUCH/deliveries', {})).status).toBe(201);
  expect((await service.call('DELETE', '/api/products/TOUCH')).status).toBe(204);
  const created = await service.call('POST', '/api/products', { code: 'Touch', name: 'Another', line: 'FEN' });
  expect(created.body).toMatchObject({ code: 'Touch', mount: 'floor', class: 'none' });
  const get = async (path: string) => (await service.call('GET', `/api/products/TOUCH${path}`)).body;
  expect((await get('/preparation')).steps).toEqual([]);
  expect((await get('/slots')).slots).toEqual([]);
  expect((await get('/revisions')).revisions).toEqual([]);
  expect((await get('/deliveries')).deliveries).toEqual([]);
  expect((await get('/schedule')).variants ?? []).toEqual([]);
  expect((await service.call('GET', '/api/jobs?product=TOUCH')).body.jobs).toEqual([]);
  await put('/api/products/TOUCH/model', readRegistryModel('oculus-touch/left.glb'), GLB);
  expect((await get('/revisions')).revisions.map(({ revision }: { revision: number }) => revision)).toEqual([3]);
  expect((await get('/slots')).slots[0]).toMatchObject({ position: null, grainDegrees: 0 });
  await put('/api/products/TOUCH/schedule', schedule('TARN.3'));
  expect((await service.call('GET', PATH)).body).toMatchObject({ state: 'none', approvals: [] });
});
