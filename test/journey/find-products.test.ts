import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { addProduct, putLineOfFinishes } from '../support/job.ts';
import { readRegistryModel } from '../support/registry-models.ts';
import { startService, type TestService } from '../support/start-service.ts';

// The list of products is searched and filtered by the service, and knows which last delivery is out of date. Model:
// @webxr-input-profiles/assets 1.0.20 (MIT).

let service: TestService;
let slot = '';
beforeAll(async () => {
  service = await startService();
  await putLineOfFinishes(service);
  slot = (await addProduct(service, 'STOOL', readRegistryModel('oculus-go/none.glb')))[0]!;
  for (let number = 0; number < 12; number++) {
    const name = number === 4 ? 'Bouclé pouf' : `Part ${number}`;
    await service.call('POST', '/api/products', { code: `P-${number}`, name });
  }
});
afterAll(() => service.close());

const find = async (query: string) => (await service.call('GET', `/api/products?${query}`)).body;
const codes = ({ products }: { products: { code: string }[] }) => products.map(({ code }) => code);

describe('a search', () => {
  it('finds words in codes and names, whatever their case and accents', async () => {
    expect(codes(await find('q=boucle'))).toEqual(['P-4']);
    expect(codes(await find('q=POUF%20p-4'))).toEqual(['P-4']);
    expect(codes(await find('q=stool'))).toEqual(['STOOL']);
    expect(await find('q=nothing-of-it')).toEqual({ products: [] });
  });

  it('keeps to a line, or to the products without one', async () => {
    expect(codes(await find('line=fen'))).toEqual(['STOOL']);
    expect((await find('line=')).products).toHaveLength(12);
    expect(await find('line=NONE')).toEqual({ products: [] });
  });

  it('comes in pages that leave nothing out', async () => {
    const first = await find('q=part&limit=5');
    expect(first.products).toHaveLength(5);
    const second = await find(`q=part&limit=6&after=${first.next}`);
    const all = codes(await find('q=part'));
    expect([...codes(first), ...codes(second)]).toEqual(all);
    expect(second.next).toBeUndefined();
  });
});

describe('a product whose delivery is out of date', () => {
  const row = (finish: string) => ({ code: 'A', name: 'A', choices: { [slot]: finish } });
  const put = (path: string, body: unknown) => service.call('PUT', `/api/${path}`, body);
  const coal = { name: 'Coal black', family: 'powder-coat', colour: { hex: '#1e1e1e' } };
  const isOutdated = async () => {
    const found = codes(await find('outdated=1'));
    expect((await service.call('GET', '/api/products/STOOL')).body.outdated).toBe(found.includes('STOOL'));
    return found.length > 0;
  };

  it('is found after a change that a delivery contains, and only then', async () => {
    await put('products/STOOL/schedule', { default: 'A', variants: [row('COAL_4')] });
    expect(codes(await find('attention=1&q=p-11'))).toEqual(['P-11']);
    expect(await isOutdated()).toBe(false);
    expect((await service.call('POST', '/api/products/STOOL/deliveries', {})).status).toBe(201);
    expect(await isOutdated()).toBe(false);

    await put('finishes/COAL_4', { ...coal, tags: ['dark'], supplier: 'Wexmill' });
    expect(await isOutdated()).toBe(false);
    await put('finishes/COAL_4', { ...coal, colour: { hex: '#202020' } });
    expect(await isOutdated()).toBe(true);
    await put('finishes/COAL_4', coal);
    expect(await isOutdated()).toBe(false);

    await put('products/STOOL/schedule', { default: 'A', variants: [row('TARN.3')] });
    expect(await isOutdated()).toBe(true);
    await put('products/STOOL/schedule', { default: 'A', variants: [row('COAL_4')] });
    expect(await isOutdated()).toBe(false);

    const path = `/api/products/STOOL/slots/${slot}`;
    await service.call('PATCH', path, { label: 'Shell' });
    expect(await isOutdated()).toBe(false);
    await service.call('PATCH', path, { keep: { occlusion: false } });
    expect(await isOutdated()).toBe(true);
    await service.call('PATCH', path, { keep: { occlusion: true } });
    expect(await isOutdated()).toBe(false);
  });

  it('is found after its article changes', async () => {
    const article = { name: 'Coach lacquer', family: 'powder-coat', roughness: 0.4 };
    await put('articles/LACQUER', article);
    await put('finishes/COAL_4', { ...coal, article: 'LACQUER' });
    await service.call('POST', '/api/products/STOOL/deliveries', {});
    expect(await isOutdated()).toBe(false);
    await put('articles/LACQUER', { ...article, name: 'Coach lacquer, new', composition: 'alkyd' });
    expect(await isOutdated()).toBe(false);
    await put('articles/LACQUER', { ...article, roughness: 0.5 });
    expect(await isOutdated()).toBe(true);
  });
});
