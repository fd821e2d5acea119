import Papa from 'papaparse';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { readGlb, variantNames } from '../support/glb.ts';
import { addTwoPositions, FINISHES, putLineOfFinishes } from '../support/job.ts';
import { readSchemaOrg } from '../support/read-schema-org.ts';
import { startService, type TestService } from '../support/start-service.ts';

// The shop data of a delivery as CSV, JSON and JSON-LD. Oracles: PapaParse 5.7.1 (CSV), schema-dts 2.1.0 (the vocabulary of
// schema.org).

const base = '/api/products/TOUCH';
let service: TestService;
let shell: string;
let trim: string;
const row = (code: string, name: string, on: string, under: string, gtin?: string) => ({
  code,
  name,
  choices: { [shell]: on, [trim]: under },
  ...(gtin && { gtin }),
});
const schedule = async (variants: object[], more: object = {}) => {
  const answer = await service.call('PUT', `${base}/schedule`, { default: 'A', variants, ...more });
  expect(answer.status, JSON.stringify(answer.body)).toBe(200);
};
const deliver = (body: object = {}) => service.call('POST', `${base}/deliveries`, body);
async function feed(format: string, delivery: string | number = 'current') {
  const answer = await fetch(`${service.url}${base}/deliveries/${delivery}/feed.${format}`);
  expect(answer.status).toBe(200);
  return new Uint8Array(await answer.arrayBuffer());
}
const text = (bytes: Uint8Array) => new TextDecoder('utf-8', { ignoreBOM: true, fatal: true }).decode(bytes);
const readJson = async (format: string, delivery?: number) => JSON.parse(text(await feed(format, delivery)));
async function readCsv(delivery?: number): Promise<Record<string, string>[]> {
  const { data, errors } = Papa.parse<Record<string, string>>(text(await feed('csv', delivery)), {
    header: true,
    skipEmptyLines: true,
  });
  expect(errors).toEqual([]);
  return data;
}

beforeAll(async () => {
  service = await startService({ DYEWORKS_PUBLIC: 'deliveries,pictures' });
  await putLineOfFinishes(service);
  for (const [code, names] of [
    ['TARN.3', { de: 'Bergseeblau', he: 'כחול "אגם"' }],
    ['OAK-1', { de: 'Eiche, geölt' }],
  ] as const) {
    const { name, family, hex } = FINISHES[code]!;
    const put = await service.call('PUT', `/api/finishes/${code}`, { name, names, family, colour: { hex } });
    expect(put.status).toBe(200);
  }
  [shell, trim] = await addTwoPositions(service);
  await schedule([
    row('A', 'Tarn blue / Oiled oak', 'TARN.3', 'OAK-1', '4006381333931'),
    row('B', '=HYPERLINK("x"), "B"', 'COAL_4', 'OAK-1', '012345678905'),
    row('C', 'Coal black / Pale ash', 'COAL_4', 'ASH-2'),
  ]);
  expect((await deliver({ note: 'First' })).status).toBe(201);
});
afterAll(() => service.close());

it('is a table that another parser reads, without formulas', async () => {
  const bytes = await feed('csv');
  expect([...bytes.subarray(0, 3)]).not.toEqual([0xef, 0xbb, 0xbf]);
  const withMark = await feed('csv?bom=1');
  expect([...withMark.subarray(0, 3)]).toEqual([0xef, 0xbb, 0xbf]);
  expect([...withMark.subarray(3)]).toEqual([...bytes]);
  const rows = await readCsv();
  expect(rows.map(({ variant }) => variant)).toEqual(['A', 'B', 'C']);
  expect(rows[0]).toMatchObject({
    sku: 'TOUCH-TARN.3-OAK-1',
    name: 'Tarn blue / Oiled oak',
    name_de: 'Bergseeblau / Eiche, geölt',
    name_he: 'כחול "אגם" / Oiled oak',
    gtin: '04006381333931',
    status: 'current',
    grade: 'A/B',
    product: 'TOUCH',
    delivery: '1',
    [shell]: 'TARN.3',
    [`${shell}_name_he`]: 'כחול "אגם"',
    [`${shell}_colour`]: '#2f5d73',
    [`${trim}_material`]: 'wood',
    [`${trim}_grade`]: 'B',
  });
  expect(rows[1]!.name).toBe(`'=HYPERLINK("x"), "B"`);
  expect(rows[1]!.name_de).toBe('');
});

it('uses only terms of schema.org', async () => {
  const vocabulary = readSchemaOrg();
  const group = await readJson('jsonld');
  const types = new Set<string>();
  const check = (value: unknown): void => {
    if (Array.isArray(value)) {
      for (const each of value) check(each);
      return;
    }
    if (typeof value === 'string' && value.startsWith('https://schema.org/')) {
      const term = value.slice('https://schema.org/'.length);
      const isProperty = vocabulary.listProperties('Product').has(term);
      expect(isProperty || vocabulary.hasMember(value), value).toBe(true);
    }
    if (typeof value !== 'object' || value === null || '@value' in value) return;
    const type = (value as Record<string, string>)['@type']!;
    types.add(type);
    const known = vocabulary.listProperties(type);
    for (const [key, inner] of Object.entries(value)) {
      if (key.startsWith('@')) continue;
      expect(known.has(key), `${type}.${key}`).toBe(true);
      check(inner);
    }
  };
  check(group);
  expect([...types].sort()).toEqual(
    ['3DModel', 'DefinedTerm', 'MediaObject', 'Product', 'ProductGroup', 'PropertyValue'].sort(),
  );
  expect(group['@context']).toBe('https://schema.org');
  expect(group.productGroupID).toBe('TOUCH');
  const [a, b] = group.hasVariant;
  expect(a).toMatchObject({ sku: 'TOUCH-TARN.3-OAK-1', gtin13: '4006381333931', material: 'powder coat / wood' });
  expect(b).toMatchObject({ gtin12: '012345678905', name: '=HYPERLINK("x"), "B"' });
  expect(a.name).toContainEqual({ '@language': 'he', '@value': 'כחול "אגם" / Oiled oak' });
});

it('fills a shop from the feed alone: each file and picture that it names is there', async () => {
  const { variants } = await readJson('json');
  const shop = new Map<string, { name: string; files: number }>();
  for (const item of variants) {
    expect(item.files.length).toBeGreaterThanOrEqual(2);
    for (const { url, mediaType, form } of item.files) {
      const answer = await fetch(url);
      expect([answer.status, answer.headers.get('content-type')], url).toEqual([200, mediaType]);
      const glb = readGlb(Buffer.from(await answer.arrayBuffer()));
      if (form === 'model.glb') expect(variantNames(glb)).toContain(item.name);
      else expect(variantNames(glb)).toEqual([]);
    }
    for (const url of item.pictures) {
      const answer = await fetch(url);
      expect([answer.status, answer.headers.get('content-type')], url).toEqual([200, 'image/jpeg']);
      await answer.arrayBuffer();
    }
    shop.set(item.sku, { name: item.name, files: item.files.length });
  }
  expect(shop.size).toBe(3);
  const rows = await readCsv();
  for (const { model_glb, picture, all_variants_glb } of rows) {
    for (const url of [model_glb!, picture!, all_variants_glb!]) expect(url).toMatch(/^http:\/\//);
  }
  expect(new Set(rows.map(({ sku }) => sku))).toEqual(new Set(shop.keys()));
}, 120_000);

it('says the same of a delivery for good, and makes a new one when only the shop data changed', async () => {
  const before = text(await feed('json', 1));
  const { body: line } = await service.call('GET', '/api/lines/FEN');
  const range = line.range.map((entry: { finish: string; grade: string; status: string }) => ({
    ...entry,
    ...(entry.finish === 'COAL_4' && { grade: 'C', status: 'phase-out' }),
  }));
  const put = await service.call('PUT', '/api/lines/FEN', { name: line.name, positions: line.positions, range });
  expect(put.status).toBe(200);
  expect(text(await feed('json', 1))).toBe(before);
  const pending = (await service.call('GET', `${base}/deliveries/pending`)).body;
  expect(pending.changes).toMatchObject([{ kind: 'shop-data', finish: 'COAL_4', variants: 2 }]);
  const next = await deliver();
  expect([next.status, next.body.delivery]).toEqual([201, 2]);
  const rows = await readCsv(2);
  expect(rows.map(({ status, grade }) => [status, grade])).toEqual([
    ['current', 'A/B'],
    ['phase-out', 'B/C'],
    ['phase-out', 'B/C'],
  ]);
  // the same bytes of the model
  const [one, two] = await Promise.all([1, 2].map((n) => service.call('GET', `${base}/deliveries/${n}`)));
  expect(two!.body.sha256).toBe(one!.body.sha256);
});

describe('a variant that is withdrawn', () => {
  it('stays listed as discontinued, with its SKU and its last file', async () => {
    await schedule([row('A', 'Tarn', 'TARN.3', 'OAK-1'), row('C', 'Coal and ash', 'COAL_4', 'ASH-2')]);
    expect((await deliver()).body.delivery).toBe(3);
    const rows = await readCsv(3);
    expect(rows.map(({ variant, status }) => [variant, status])).toEqual([
      ['A', 'current'],
      ['C', 'phase-out'],
      ['B', 'discontinued'],
    ]);
    expect(rows[2]).toMatchObject({ sku: 'TOUCH-COAL_4-OAK-1', picture: '', gtin: '00012345678905' });
    expect(rows[2]!.model_glb).toContain('/deliveries/2/variants/B.glb');
    expect((await fetch(rows[2]!.model_glb!)).status).toBe(200);
    const group = await readJson('jsonld', 3);
    expect(group.hasVariant[2].offers).toEqual({ '@type': 'Offer', availability: 'https://schema.org/Discontinued' });
    // its code may return for another choice, which is another article
    await schedule([row('A', 'Tarn', 'TARN.3', 'OAK-1'), row('B', 'Brass', 'TARN.3', 'brass-5')]);
    expect((await deliver()).body.delivery).toBe(4);
    const again = await readCsv(4);
    expect(again.map(({ sku, status }) => [sku, status])).toEqual([
      ['TOUCH-TARN.3-OAK-1', 'current'],
      ['TOUCH-TARN.3-brass-5', 'current'],
      ['TOUCH-COAL_4-ASH-2', 'discontinued'],
      ['TOUCH-COAL_4-OAK-1', 'discontinued'],
    ]);
  });

  it('has no file when its delivery was withdrawn', async () => {
    await service.call('POST', `${base}/deliveries/2/withdraw`, { reason: 'Wrong.' });
    const rows = await readCsv(4);
    expect(rows.find(({ sku }) => sku === 'TOUCH-COAL_4-OAK-1')!.model_glb).toBe('');
    expect((await fetch(`${service.url}${base}/deliveries/2/feed.csv`)).status).toBe(410);
  });
});

describe('the template of the SKUs', () => {
  const patch = (skuTemplate: string | null) => service.call('PATCH', base, { skuTemplate });

  it('is refused where no SKU could come of it', async () => {
    for (const wrong of [
      '',
      '  ',
      'CHAIR',
      '{seat',
      '{nothing}',
      '{product}/{variant}',
      '{product};{variant}',
      'é{variant}',
    ]) {
      const { status, body } = await patch(wrong);
      expect([status, body.code], wrong).toEqual([400, 'sku-template']);
    }
    expect((await patch(`{variant}${'x'.repeat(200)}`)).body.code).toBe('sku-template');
    expect((await service.call('GET', base)).body.skuTemplate).toBeUndefined();
  });

  it('leaves a choice the SKU that was sent out for it, and gives that to no other', async () => {
    // A has the SKU of its finishes already; only what is new follows the template
    expect((await patch(`T.{${trim}}`)).body.skuTemplate).toBe(`T.{${trim}}`);
    await schedule([row('A', 'Tarn', 'TARN.3', 'OAK-1'), row('N', 'New', 'COAL_4', 'brass-5')]);
    expect((await deliver()).status).toBe(201);
    const rows = await readCsv();
    expect(rows.slice(0, 2).map(({ sku }) => sku)).toEqual(['TOUCH-TARN.3-OAK-1', 'T.brass-5']);
    // T.brass-5 stands for coal with brass
    await schedule([row('A', 'Tarn', 'TARN.3', 'OAK-1'), row('N', 'New', 'COAL_4', 'TARN.3')]);
    await patch('T.brass-5{variant}');
    await schedule([row('A', 'Tarn', 'TARN.3', 'OAK-1')]);
    await patch('{variant}');
    await schedule([row('A', 'Tarn', 'TARN.3', 'OAK-1'), row('t.Brass-5', 'New', 'COAL_4', 'TARN.3')]);
    const before = (await service.call('GET', `${base}/deliveries`)).body.deliveries.length;
    const blocked = await deliver();
    expect([blocked.status, blocked.body.code]).toEqual([409, 'delivery-blocked']);
    expect(blocked.body.findings).toMatchObject([{ code: 'sku-taken', severity: 'error', seen: 't.Brass-5' }]);
    const pending = (await service.call('GET', `${base}/deliveries/pending`)).body;
    expect(pending.findings.map(({ code }: { code: string }) => code)).toContain('sku-taken');
    expect((await service.call('GET', `${base}/deliveries`)).body.deliveries).toHaveLength(before);
  });

  it('blocks a delivery in which two SKUs would be the same, or none would do', async () => {
    await patch(`X.{${trim}}`);
    await schedule([
      row('A', 'Tarn', 'TARN.3', 'OAK-1'),
      row('P', 'P', 'TARN.3', 'ASH-2'),
      row('Q', 'Q', 'COAL_4', 'TARN.3'),
      { code: 'R', name: 'R', choices: { [shell]: 'COAL_4', [trim]: 'TARN.3' } },
    ]);
    expect((await deliver()).body.findings).toMatchObject([{ code: 'sku-collides' }]);
    await patch(`{${trim}}`);
    await schedule([row('A', 'Tarn', 'TARN.3', 'OAK-1'), { code: 'E', name: 'E', choices: { [shell]: 'TARN.3' } }]);
    expect((await deliver()).body.findings).toMatchObject([{ code: 'sku-unusable' }]);
    await patch(null);
    expect((await deliver()).status).toBe(201);
  });
});
