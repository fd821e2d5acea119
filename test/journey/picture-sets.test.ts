import { createHash } from 'node:crypto';
import { parse } from 'csv-parse/sync';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Variant } from '../../server/core/schedule/schedule.ts';
import type { SetFileAnswer, SetPlanAnswer } from '../../server/http/contracts/picture-set.ts';
import { addTwoPositions, putLineOfFinishes } from '../support/job.ts';
import { readZip } from '../support/read-zip.ts';
import { waitForJob } from '../support/run-job.ts';
import { startService, type TestService } from '../support/start-service.ts';

// A recipient's pictures: planned, made, changed and sent. Model: @webxr-input-profiles/assets 1.0.20 (MIT).

const PRODUCT = 'TOUCH';
const ROWS = 3;
const base = `/api/products/${PRODUCT}/picture-sets`;
let service: TestService;
let shell: string;
let trim: string;
let rows: Variant[];

beforeAll(async () => {
  service = await startService();
  await putLineOfFinishes(service);
  [shell, trim] = await addTwoPositions(service);
  rows = [
    { code: 'V-01', name: 'Tarn in oak', choices: { [shell]: 'TARN.3', [trim]: 'OAK-1' }, gtin: '06291041500213' },
    { code: 'V-02', name: 'Coal in ash', choices: { [shell]: 'COAL_4', [trim]: 'ASH-2' } },
    { code: 'V-03', name: 'Coal in brass', choices: { [shell]: 'COAL_4', [trim]: 'brass-5' } },
  ];
  const schedule = { default: 'V-01', variants: rows };
  expect((await service.call('PUT', `/api/products/${PRODUCT}/schedule`, schedule)).status).toBe(200);
  const small = { name: 'Small', sizes: [96], format: 'png', views: ['front', 'top'], ground: '#e8e4dc' };
  expect((await service.call('PUT', '/api/picture-sets/small', small)).status).toBe(201);
});
afterAll(() => service.close());

const getPlan = async (set: string): Promise<SetPlanAnswer> => (await service.call('GET', `${base}/${set}`)).body;
const get = (file: SetFileAnswer) => service.call('GET', file.address);

/** Runs a set, and returns the number of files its job made and the number it found. */
async function run(set: string, body: object = {}): Promise<{ made: number; kept: number }> {
  const { status, body: job, headers } = await service.call('POST', `${base}/${set}`, body);
  expect([status, headers.get('location')]).toEqual([202, `/api/jobs/${job.id}`]);
  const ended = await waitForJob(service, job.id);
  expect(ended).toMatchObject({ kind: 'picture-set', state: 'done', failed: 0, failures: [], done: job.total });
  return { made: job.total, kept: job.kept };
}

describe('a set of a product', () => {
  it('is planned file by file, before any is made', async () => {
    const plan = await getPlan('small');
    expect(plan).toMatchObject({ set: 'small', product: PRODUCT, total: 2 * ROWS, made: 0, bytes: 0, findings: [] });
    expect(plan.files![0]).toEqual({
      name: 'TOUCH_V-01_front_96.png',
      namedBy: 'template',
      variant: 'V-01',
      finish: null,
      view: 'front',
      layer: 'whole',
      widthPx: 96,
      heightPx: 96,
      ppi: null,
      made: false,
      address: `${base}/small/files/TOUCH_V-01_front_96.png`,
    });
    const { files: _, ...figures } = plan;
    expect((await service.call('GET', `${base}/small?files=0`)).body).toEqual(figures);
  });

  it('is made as a job, of some variants or of all, and never twice', async () => {
    expect(await run('small', { variants: ['v-02'] })).toEqual({ made: 2, kept: 0 });
    expect((await getPlan('small')).files!.filter(({ made }) => made).map(({ variant }) => variant)).toEqual([
      'V-02',
      'V-02',
    ]);
    expect(await run('small')).toEqual({ made: 2 * ROWS - 2, kept: 2 });
    expect(await run('small')).toEqual({ made: 0, kept: 2 * ROWS });
  });

  it('has each file under its name, with the tag of the plan', async () => {
    const { files } = await getPlan('small');
    for (const file of files!) {
      const { status, headers, body } = await get(file);
      expect([status, headers.get('picture-source'), headers.get('etag')]).toEqual([200, 'stored', `"${file.sha256}"`]);
      expect([body.length, createHash('sha256').update(body).digest('hex')]).toEqual([file.bytes, file.sha256]);
      const { width, hasAlpha, icc } = await sharp(body).metadata();
      expect([width, hasAlpha, icc!.subarray(36, 40).toString('latin1')]).toEqual([96, false, 'acsp']);
    }
    const known = { 'if-none-match': `"${files![0]!.sha256}"` };
    expect((await service.call('GET', files![0]!.address, undefined, known)).status).toBe(304);
    expect((await service.call('GET', `${base}/small/files/other.png`)).body.code).toBe('unknown-set-file');
  });

  it('is available as one zip, with a list of its contents', async () => {
    const { status, headers, body } = await service.call('GET', `${base}/small.zip`);
    expect([status, headers.get('content-type')]).toEqual([200, 'application/zip']);
    expect(headers.get('content-disposition')).toContain('TOUCH_small.zip');
    const files = await readZip(Buffer.from(body));
    const plan = await getPlan('small');
    const listed = parse(files.get('files.csv')!, { columns: true }) as Record<string, string>[];
    expect(listed.map(({ name, sha256 }) => [name, sha256])).toEqual(plan.files!.map((f) => [f.name, f.sha256]));
    expect(listed[0]).toMatchObject({
      product: PRODUCT,
      variant: 'V-01',
      finishes: Object.entries(rows[0]!.choices)
        .map(([slot, finish]) => `${slot}:${finish}`)
        .join(' '),
      view: 'front',
      widthPx: '96',
      ppi: '',
    });
    expect([...files.keys()].sort()).toEqual(['files.csv', ...plan.files!.map(({ name }) => name)].sort());
    for (const { name, sha256 } of plan.files!) {
      expect(createHash('sha256').update(files.get(name)!).digest('hex')).toBe(sha256);
    }
    const some = await readZip(Buffer.from((await service.call('GET', `${base}/small.zip?variant=V-03`)).body));
    expect(some.size).toBe(3);
  });

  it('makes only those files again that show a changed finish', async () => {
    const finish = 'TARN.3';
    const before = await getPlan('small');
    await changeFinish(finish, { colour: { hex: '#7a3b2e' } });
    const planned = await getPlan('small');
    expect(planned.files!.filter(({ made }) => !made).map(({ variant }) => variant)).toEqual(['V-01', 'V-01']);
    const sources: Record<string, string[]> = {};
    for (const file of planned.files!) {
      const source = (await get(file)).headers.get('picture-source')!;
      sources[source] ??= [];
      sources[source].push(file.variant!);
    }
    expect(sources).toEqual({
      composed: ['V-01', 'V-01'],
      stored: ['V-02', 'V-02', 'V-03', 'V-03'],
    });
    const after = await getPlan('small');
    for (const [i, file] of after.files!.entries()) {
      expect(file.sha256 === before.files![i]!.sha256, file.name).toBe(file.variant !== 'V-01');
    }
    // and back: the earlier files still exist
    await changeFinish(finish, { colour: original });
    expect((await getPlan('small')).made).toBe(2 * ROWS);
  });

  it('writes names again where a name has changed, since files contain it', async () => {
    const finish = 'ASH-2';
    await changeFinish(finish, { names: { de: 'Neue Esche' } });
    const { files } = await getPlan('small');
    expect([...new Set(files!.filter(({ made }) => !made).map(({ variant }) => variant))]).toEqual(['V-02']);
    const { body } = await get(files!.find(({ variant }) => variant === 'V-02')!);
    const { xmpAsString } = await sharp(body).metadata();
    for (const text of ['Neue Esche', finish, PRODUCT, rows[1]!.name]) expect(xmpAsString).toContain(text);
  });

  let original: unknown;
  async function changeFinish(code: string, change: object): Promise<void> {
    const { body } = await service.call('GET', `/api/finishes/${code}`);
    const { finish: _, revision: _r, resolved: _s, ...given } = body;
    original ??= given.colour;
    expect((await service.call('PUT', `/api/finishes/${code}`, { ...given, ...change })).status).toBe(200);
  }
});

describe('a set can ask for', () => {
  const put = async (code: string, given: object) =>
    expect((await service.call('PUT', `/api/picture-sets/${code}`, { name: code, ...given })).status).toBe(201);

  it('the shadow in a separate file: the product without it, and black with coverage', async () => {
    await put('apart', {
      sizes: [128],
      format: 'tiff',
      views: ['three-quarter'],
      ground: 'transparent',
      shadow: 'separate',
    });
    const { files } = await getPlan('apart');
    expect(files!.slice(0, 2).map(({ name, layer }) => [name, layer])).toEqual([
      ['TOUCH_V-01_three-quarter_128.tif', 'bare'],
      ['TOUCH_V-01_three-quarter_128_shadow.tif', 'shadow'],
    ]);
    const [bare, shadow] = await Promise.all(
      files!.slice(0, 2).map(async (file) =>
        sharp((await get(file)).body)
          .raw()
          .toBuffer({ resolveWithObject: true }),
      ),
    );
    expect([bare!.info.channels, shadow!.info.channels]).toEqual([4, 4]);
    let covered = 0;
    for (let at = 0; at < shadow!.data.length; at += 4) {
      expect([...shadow!.data.subarray(at, at + 3)]).toEqual([0, 0, 0]);
      if (shadow!.data[at + 3]! > 0) covered++;
    }
    expect(covered).toBeGreaterThan(0);
    // its visible part is beside the product: the two together are the whole picture
    const beside = [...shadow!.data.keys()].filter(
      (at) => at % 4 === 3 && shadow!.data[at]! > 0 && bare!.data[at] === 0,
    );
    expect(beside.length).toBeGreaterThan(0);
  });

  it('close-ups, and names those for which a product has no part', async () => {
    await put('close', { sizes: [64], format: 'webp', views: [`slot:${trim}`, 'slot:arms'] });
    const { files, findings } = await getPlan('close');
    expect(files!.map(({ view }) => view)).toEqual(rows.map(() => `slot:${trim}`));
    expect(findings).toMatchObject([{ code: 'view-left-out', severity: 'note', seen: 'slot:arms' }]);
    expect(findings[0]!.message).toContain(trim);
    const { status, headers, body } = await get(files![0]!);
    expect([status, headers.get('content-type')]).toEqual([200, 'image/webp']);
    expect((await sharp(body).metadata()).width).toBe(64);
  });

  it('GS1 names for variants with a GTIN, and lists those without', async () => {
    await put('gs1', { sizes: [64], format: 'jpg', views: ['front'], gs1Names: true });
    const { files, findings } = await getPlan('gs1');
    expect(files!.map(({ name, namedBy }) => [name, namedBy])).toEqual([
      ['06291041500213_A1C0.jpg', 'gs1'],
      ['TOUCH_V-02_front_64.jpg', 'template'],
      ['TOUCH_V-03_front_64.jpg', 'template'],
    ]);
    expect(findings).toMatchObject([{ code: 'variant-without-gtin', seen: ['V-02', 'V-03'] }]);
    const { xmpAsString } = await sharp((await get(files![0]!)).body).metadata();
    expect(xmpAsString).toContain('<Iptc4xmpExt:ProductGTIN>06291041500213</Iptc4xmpExt:ProductGTIN>');
  });

  it('swatches of every finish in the schedule: exact chips, on any ground, with the finish’s names', async () => {
    await put('chips', { sizes: [64], format: 'webp', swatches: ['chip', 'sphere'], ground: '#102030' });
    const { files } = await getPlan('chips');
    const used = new Set(rows.flatMap(({ choices }) => Object.values(choices)));
    expect(new Set(files!.map(({ finish }) => finish))).toEqual(used);
    const { made } = await run('chips');
    expect(made).toBe(2 * used.size);
    for (const file of (await getPlan('chips')).files!.slice(0, 4)) {
      const { body } = await get(file);
      const { data, info } = await sharp(body).raw().toBuffer({ resolveWithObject: true });
      const { resolved, name } = (await service.call('GET', `/api/finishes/${file.finish}`)).body;
      const corner = file.view === 'chip' ? resolved.hex : '#102030';
      // a sphere's WebP is lossy
      const off = [0, 1, 2].map((i) => Math.abs(data[i]! - Number.parseInt(corner.slice(1 + 2 * i, 3 + 2 * i), 16)));
      expect(Math.max(...off), file.name).toBeLessThanOrEqual(file.view === 'chip' ? 0 : 3);
      expect(info.channels).toBe(3);
      expect((await sharp(body).metadata()).xmpAsString).toContain(name);
    }
  });

  it.each([
    ['names that stand twice', 'twice', { sizes: [64], format: 'png', names: '{product}' }, 'file-names-collide'],
    ['a field without a value', 'empty', { sizes: [64], format: 'png', names: '{gtin}' }, 'name-field-missing'],
  ])('is refused for %s in the plan, the job and the zip', async (_, code, given, refused) => {
    await put(code, given);
    for (const [method, path] of [
      ['GET', `${base}/${code}`],
      ['POST', `${base}/${code}`],
      ['GET', `${base}/${code}.zip`],
    ] as const) {
      const { status, body } = await service.call(method, path, method === 'POST' ? {} : undefined);
      expect([status, body.code]).toEqual([422, refused]);
    }
  });

  it.each([
    ['an unknown product', '/api/products/NONE/picture-sets/small', 404, 'unknown-product'],
    ['an unknown set', `${base}/nothing`, 404, 'unknown-picture-set'],
    ['the zip of an unknown set', `${base}/nothing.zip`, 404, 'unknown-picture-set'],
    ['an unknown variant', `${base}/small.zip?variant=V9`, 404, 'unknown-variant'],
  ])('is refused for %s', async (_, path, status, code) => {
    const answer = await service.call('GET', path);
    expect([answer.status, answer.body.code]).toEqual([status, code]);
  });

  it('is refused for a product without a model, and for one without a schedule', async () => {
    await service.call('POST', '/api/products', { code: 'BARE', name: 'Bare' });
    const bare = await service.call('GET', '/api/products/BARE/picture-sets/small');
    expect([bare.status, bare.body.code]).toEqual([409, 'no-model']);
    const model = (await service.call('GET', `/api/products/${PRODUCT}/model.glb`)).body;
    await service.call('PUT', '/api/products/BARE/model', model, { 'content-type': 'model/gltf-binary' });
    const unscheduled = await service.call('POST', '/api/products/BARE/picture-sets/small', {});
    expect([unscheduled.status, unscheduled.body.code]).toEqual([409, 'no-schedule']);
  });
});
