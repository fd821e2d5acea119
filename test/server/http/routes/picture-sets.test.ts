import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { addTwoPositions, putLineOfFinishes } from '../../../support/job.ts';
import { startService, type TestService } from '../../../support/start-service.ts';

let service: TestService;
beforeAll(async () => {
  service = await startService();
});
afterAll(() => service.close());

const base = '/api/picture-sets';
const list = async () => (await service.call('GET', base)).body.sets;
const PRESS = { name: 'Press', widthMm: 100, heightMm: 120, ppi: 200, bleedMm: 2, format: 'tiff', views: ['side'] };

describe('picture sets', () => {
  it('are three before anybody has made one', async () => {
    expect((await list()).map(({ code, ready }: never) => [code, ready])).toEqual([
      ['shop', true],
      ['print', true],
      ['swatches', true],
    ]);
    const { body } = await service.call('GET', `${base}/Shop`);
    expect(body).toMatchObject({ code: 'shop', sizes: [2048], ground: 'white', ready: true, replacesReady: false });
  });

  it('are made, changed and deleted, and come back as they are handed in', async () => {
    const made = await service.call('PUT', `${base}/press`, PRESS);
    expect([made.status, made.body]).toEqual([
      201,
      {
        ...PRESS,
        code: 'press',
        ground: 'white',
        shadow: 'with',
        fill: { minPercent: 75, maxPercent: 90 },
        scale: 'product',
        names: '{product}_{variant}_{view}_{size}',
        gs1Names: false,
        profile: 'srgb',
        ready: false,
        replacesReady: false,
      },
    ]);
    const { code: _, ready: _r, replacesReady: _p, ...again } = made.body;
    const changed = await service.call('PUT', `${base}/PRESS`, { ...again, name: 'Press and fairs' });
    expect([changed.status, changed.body.name, changed.body.code]).toEqual([200, 'Press and fairs', 'PRESS']);
    expect((await list()).map(({ code }: never) => code)).toEqual(['shop', 'print', 'swatches', 'PRESS']);
    expect((await service.call('DELETE', `${base}/press`)).status).toBe(204);
    expect((await service.call('GET', `${base}/press`)).body.code).toBe('unknown-picture-set');
  });

  it('stand in the place of a ready one, which comes back when they are deleted', async () => {
    const own = await service.call('PUT', `${base}/print`, PRESS);
    expect([own.status, own.body.replacesReady, own.body.ready]).toEqual([201, true, false]);
    expect((await list())[1]).toMatchObject({ name: 'Press', ready: false, replacesReady: true });
    expect((await service.call('DELETE', `${base}/PRINT`)).status).toBe(204);
    expect((await list())[1]).toMatchObject({ code: 'print', ppi: 300, ready: true });
    const refused = await service.call('DELETE', `${base}/print`);
    expect([refused.status, refused.body.code]).toEqual([409, 'ready-picture-set']);
  });

  it.each([
    ['an unknown field', { ...PRESS, colour: 'red' }, 'unknown-field'],
    ['a size that is none', { ...PRESS, ppi: 5000 }, 'invalid-picture-set'],
    ['a format that is none', { ...PRESS, format: 'gif' }, 'invalid-field'],
    ['a template with an unknown field', { ...PRESS, names: '{date}' }, 'unknown-name-field'],
  ])('are refused with %s', async (_, given, code) => {
    const { status, body } = await service.call('PUT', `${base}/other`, given);
    expect([status, body.code]).toEqual([400, code]);
    expect((await service.call('GET', `${base}/other`)).status).toBe(404);
  });

  it('are unknown where there is none', async () => {
    const { status, body } = await service.call('DELETE', `${base}/nobody`);
    expect([status, body.code]).toEqual([404, 'unknown-picture-set']);
  });
});

describe('the number a variant is sold under', () => {
  // worked examples of GS1's pages about the check digit; see core/picture/gtin.test.ts
  const [first, second] = ['6291041500213', '8904000210037'];
  const path = '/api/products/TOUCH/schedule';

  it('goes through a schedule as it was given, and outlives what is added', async () => {
    await putLineOfFinishes(service);
    const [shell, trim] = await addTwoPositions(service);
    const row = { code: 'A', name: 'A', choices: { [shell]: 'COAL_4', [trim]: 'OAK-1' }, gtin: first };
    const put = await service.call('PUT', path, { default: 'A', variants: [row] });
    expect([put.status, put.body.variants]).toEqual([200, [{ ...row, gtin: '06291041500213' }]]);
    const { findings: _, ...read } = (await service.call('GET', path)).body;
    const again = await service.call('PUT', path, read, { 'if-match': put.headers.get('etag')! });
    expect([again.status, again.headers.get('etag')]).toEqual([200, put.headers.get('etag')]);
    await service.call('POST', `${path}/expand`, {});
    await service.call('POST', `${path}/check-set`, {});
    const { variants } = (await service.call('GET', path)).body;
    expect(variants.length).toBeGreaterThan(1);
    expect(variants.map(({ gtin }: { gtin?: string }) => gtin ?? null)).toEqual([
      '06291041500213',
      ...variants.slice(1).map(() => null),
    ]);
    const model = await service.call('POST', '/api/products/TOUCH/deliveries', {});
    expect(model.status).toBe(201);
    const { body: manifest } = await service.call('GET', model.body.manifest);
    expect(manifest.variants[0].gtin).toBe('06291041500213');
  });

  it.each([
    ['that is none', second.replace(/7$/, '8'), 400, 'invalid-gtin'],
    ['that another has', first, 422, 'duplicate-gtin'],
  ])('is refused where it is one %s, and nothing is stored', async (_, gtin, status, code) => {
    const { findings: _f, ...before } = (await service.call('GET', path)).body;
    const variants = before.variants.map((row: object, i: number) => (i === 1 ? { ...row, gtin } : row));
    const refused = await service.call('PUT', path, { ...before, variants });
    expect([refused.status, refused.body.code, refused.body.where]).toEqual([status, code, '/variants/1/gtin']);
    expect((await service.call('GET', path)).body.variants).toEqual(before.variants);
  });
});
