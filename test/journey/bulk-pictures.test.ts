import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { JobPicture } from '../../server/http/contracts/job.ts';
import { addProduct, addTwoPositions, putLineOfFinishes } from '../support/job.ts';
import { readRegistryModel } from '../support/registry-models.ts';
import { readEvents } from '../support/run-job.ts';
import { startService, type TestService } from '../support/start-service.ts';

// Many pictures as jobs: of a schedule, a check set, and a line. Models: @webxr-input-profiles/assets 1.0.20 (MIT).

let service: TestService;
beforeAll(async () => {
  service = await startService();
  await putLineOfFinishes(service);
  const slots = await addProduct(service, 'GO', readRegistryModel('oculus-go/none.glb'));
  const variants = ['OAK-1', 'TARN.3', 'COAL_4'].map((finish, row) => ({
    code: `V.${row}`,
    name: `In ${finish}`,
    choices: Object.fromEntries(slots.map((slot) => [slot, finish])),
  }));
  expect((await service.call('PUT', '/api/products/GO/schedule', { default: 'V.0', variants })).status).toBe(200);
  await addTwoPositions(service);
  expect((await service.call('POST', '/api/products/TOUCH/schedule/expand', {})).status).toBe(200);
  await service.call('POST', '/api/products', { code: 'BARE', name: 'Bare', line: 'FEN' });
});
afterAll(() => service.close());

const post = (path: string, body: object) => service.call('POST', path, body);

const source = async (url: string) => (await service.call('GET', url)).headers.get('picture-source');

describe('a job of a line', () => {
  let job: { id: string; total: number };

  it('makes the pictures of every product, and names products without pictures to make', async () => {
    const { status, headers, body } = await post('/api/lines/fen/pictures', {
      sizes: [40],
      formats: ['webp', 'jpg'],
      ground: 'white',
      shadow: 'without',
      scale: 'line',
    });
    expect(status).toBe(202);
    expect(headers.get('location')).toBe(`/api/jobs/${body.id}`);
    expect(body).toMatchObject({ product: null, line: 'FEN', total: (3 + 10) * 2 });
    expect(body.request.leftOut).toEqual([{ product: 'BARE', reason: 'It has no model yet.' }]);
    job = body;
    const events = await readEvents(service, job.id, '?after=0');
    const { data } = events.at(-1)!;
    expect(data).toMatchObject({ state: 'done', done: 26, failed: 0, failures: [] });
    expect(data).not.toHaveProperty('finished');
  });

  it('lists each picture once, in order, with a working URL', async () => {
    const events = await readEvents(service, job.id, '?after=0');
    const arrived = events.flatMap(({ data }) => data.arrived);
    expect(arrived.map(({ part }) => part)).toEqual(Array.from({ length: 26 }, (_, part) => part));
    expect(new Set(arrived.map(({ url }) => url)).size).toBe(26);
    expect(arrived[0]).toEqual({
      part: 0,
      product: 'GO',
      variant: 'V.0',
      view: 'three-quarter',
      sizePx: 40,
      format: 'webp',
      url: '/api/products/GO/pictures/V.0.webp?size=40&view=three-quarter&ground=white&shadow=without&scale=line',
    });
    for (const { url } of [arrived[0]!, arrived[1]!, arrived[25]!]) expect(await source(url), url).toBe('stored');
  });

  it('continues where a reader stopped when it comes back', async () => {
    const [event] = await readEvents(service, job.id, '?after=0', { 'last-event-id': '24' });
    expect(event!.data.arrived.map(({ part }) => part)).toEqual([24, 25]);
    expect(event!.told).toBe(26);
    const [late] = await readEvents(service, job.id);
    expect(late!.data.arrived).toEqual([]);
  });

  it('lists its pictures page by page', async () => {
    const first = await service.call('GET', `/api/jobs/${job.id}/pictures?limit=20`);
    expect(first.body.pictures).toHaveLength(20);
    const rest = await service.call('GET', `/api/jobs/${job.id}/pictures?after=${first.body.next}`);
    expect(rest.body.pictures.map(({ part }: JobPicture) => part)).toEqual([20, 21, 22, 23, 24, 25]);
    expect(rest.body.next).toBe(26);
  });

  it('is among the latest jobs', async () => {
    const { body } = await service.call('GET', '/api/jobs?line=FEN');
    expect(body.jobs).toEqual([
      { id: job.id, kind: 'pictures', product: null, line: 'FEN', state: 'done', done: 26, total: 26, failed: 0 },
    ]);
    expect((await service.call('GET', '/api/jobs?product=NONE')).body.jobs).toEqual([]);
  });
});

describe('a job of a check set', () => {
  it('makes rows that are in no schedule, available by their choices', async () => {
    const before = (await service.call('GET', '/api/products/TOUCH/schedule')).body.variants.length;
    const { status, body } = await post('/api/products/TOUCH/pictures', { checkSet: 'each-finish', sizes: [40] });
    expect(status).toBe(202);
    // two finishes on the shell and five on the trim: five rows show all of them
    expect(body.total).toBe(5);
    const events = await readEvents(service, body.id, '?after=0');
    expect(events.at(-1)!.data).toMatchObject({ state: 'done', done: 5, failed: 0 });
    const arrived = events.flatMap(({ data }) => data.arrived);
    expect(arrived).toHaveLength(5);
    for (const { url } of arrived) expect([url.includes('choice='), await source(url)]).toEqual([true, 'stored']);
    expect((await service.call('GET', '/api/products/TOUCH/schedule')).body.variants).toHaveLength(before);
  });
});

describe('changes after a job was added', () => {
  it('a deleted variant fails with a message, once; the job does not wait for a new one', async () => {
    const { body: schedule } = await service.call('GET', '/api/products/GO/schedule');
    // the job waits for one that has to render a few layers
    const ahead = await post('/api/products/TOUCH/pictures', { sizes: [72] });
    const { body: job } = await post('/api/products/GO/pictures', { sizes: [44], views: ['front', 'side'] });
    const [first, second] = schedule.variants;
    const variants = [first, second, { ...second, code: 'NEW', name: 'New' }];
    expect((await service.call('PUT', '/api/products/GO/schedule', { default: first.code, variants })).status).toBe(
      200,
    );
    const events = await readEvents(service, job.id, '?after=0');
    expect(events.at(-1)!.data).toMatchObject({
      state: 'done',
      total: 6,
      failed: 2,
      failures: ['GO: the variant V.2 was removed from the schedule after the job began.'],
    });
    const arrived = events.flatMap(({ data }) => data.arrived).map(({ variant }) => variant);
    expect(arrived).toEqual(['V.0', 'V.1', 'V.0', 'V.1']);
    await readEvents(service, ahead.body.id);
  });

  it('a deleted product fails in one line, and the next job continues', async () => {
    const ahead = await post('/api/products/TOUCH/pictures', { sizes: [76] });
    const { body: job } = await post('/api/products/GO/pictures', { sizes: [48] });
    const { body: next } = await post('/api/products/TOUCH/pictures', { sizes: [40] });
    expect((await service.call('DELETE', '/api/products/GO')).status).toBe(204);
    expect((await readEvents(service, job.id)).at(-1)!.data).toMatchObject({
      state: 'failed',
      done: 3,
      failures: ['GO was deleted after the job began; Dyeworks makes no more of its pictures.'],
    });
    expect((await readEvents(service, next.id)).at(-1)!.data).toMatchObject({ state: 'done', failed: 0 });
    await readEvents(service, ahead.body.id);
  });
});

it.each([
  ['/api/products/TOUCH/pictures', { variants: ['V1'], checkSet: 'pairs' }, 400, 'invalid-field'],
  ['/api/products/TOUCH/pictures', { checkSet: 'triples' }, 400, 'invalid-field'],
  ['/api/products/TOUCH/pictures', { variants: ['NONE'] }, 404, 'unknown-variant'],
  ['/api/products/BARE/pictures', {}, 409, 'no-model'],
  ['/api/products/NONE/pictures', {}, 404, 'unknown-product'],
  ['/api/lines/NONE/pictures', {}, 404, 'unknown-line-code'],
  ['/api/lines/FEN/pictures', { variants: ['V1'] }, 400, 'unknown-field'],
  ['/api/lines/FEN/pictures', { views: ['slot:seat'] }, 400, 'invalid-field'],
  ['/api/lines/FEN/pictures', { ground: 'reddish' }, 400, 'invalid-field'],
])('%s with %j is answered %i %s', async (path, body, status, code) => {
  const answer = await post(path, body);
  expect([answer.status, answer.body.code]).toEqual([status, code]);
});

it('a line without anything to picture gets a message about what is missing', async () => {
  expect((await service.call('PUT', '/api/lines/EMPTY', { name: 'Empty' })).status).toBe(201);
  expect((await post('/api/lines/EMPTY/pictures', {})).body).toMatchObject({ status: 409, code: 'nothing-to-picture' });
  await service.call('PATCH', '/api/products/BARE', { line: 'EMPTY' });
  expect((await post('/api/lines/EMPTY/pictures', {})).body).toMatchObject({
    code: 'nothing-to-picture',
    findings: [{ product: 'BARE', reason: 'It has no model yet.' }],
  });
});
