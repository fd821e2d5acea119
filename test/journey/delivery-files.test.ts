import { execFileSync } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import { failFiles, failStatements } from '../support/disk-faults.ts';
import { expectExtracted } from '../support/extracted.ts';
import { readGlb, sha256, variantNames } from '../support/glb.ts';
import { addTwoPositions, FINISHES, putLineOfFinishes } from '../support/job.ts';
import { measureInThree } from '../support/measure-in-three.ts';
import { openInBabylon } from '../support/open-in-babylon.ts';
import { startService, type TestService } from '../support/start-service.ts';
import { listValidatorErrors } from '../support/validate.ts';

// The forms of one delivery: a file for each variant, a part of the variants, the files of a split, and a zip of all.

const BASE = '/api/products/TOUCH/deliveries/1';
const SHELLS = ['TARN.3', 'COAL_4'];
/** Codes that are names of devices on Windows, and that look like endings of files. */
const CODES = ['CON', 'a.glb', 'A..b', 'z_9', 'nul.x', '0-0', 'last.', 'v', 'w', 'x'];

let service: TestService;
let folder: string;
let shell: string;
let trim: string;
let model: Buffer;
let rows: { code: string; name: string; choices: Record<string, string> }[];
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'dyeworks-forms-'));
  service = await startService({}, join(folder, 'data'));
  await putLineOfFinishes(service);
  for (const [article, finishes] of [
    ['WOOD', ['OAK-1', 'ASH-2']],
    ['COAT', SHELLS],
  ] as const) {
    expect(
      (
        await service.call('PUT', `/api/articles/${article}`, {
          name: article,
          family: article === 'WOOD' ? 'wood' : 'powder-coat',
        })
      ).status,
    ).toBeLessThan(300);
    for (const code of finishes) {
      const { name, family, hex } = FINISHES[code]!;
      const answer = await service.call('PUT', `/api/finishes/${code}`, { name, family, colour: { hex }, article });
      expect(answer.status).toBe(200);
    }
  }
  [shell, trim] = await addTwoPositions(service);
  rows = CODES.map((code, row) => ({
    code,
    name: `Row ${row} & <more>/..`,
    choices: { [shell]: SHELLS[row % 2]!, [trim]: Object.keys(FINISHES)[row >> 1]! },
  }));
  const put = await service.call('PUT', '/api/products/TOUCH/schedule', { default: 'z_9', variants: rows });
  expect(put.status).toBe(200);
  expect((await service.call('POST', '/api/products/TOUCH/deliveries', {})).status).toBe(201);
  model = await download(`${BASE}/model.glb`);
});
afterAll(async () => {
  await service.close();
  rmSync(folder, { recursive: true, force: true });
});

const get = (path: string, headers: Record<string, string> = {}) => fetch(`${service.url}${path}`, { headers });
async function download(path: string): Promise<Buffer> {
  const answer = await get(path);
  expect(answer.status, path).toBe(200);
  return Buffer.from(await answer.arrayBuffer());
}
const alone = (index: number) => ({ variants: [index], first: index, withExtension: false });

describe('the file of a variant', () => {
  it('has the looks of the variant and no extension, under its digest, the same each time', async () => {
    for (const [index, code] of CODES.entries()) {
      const path = `${BASE}/variants/${encodeURIComponent(code)}.glb`;
      const answer = await get(path);
      const file = Buffer.from(await answer.arrayBuffer());
      expect(answer.headers.get('etag')).toBe(`"${sha256(file)}"`);
      expect(answer.headers.get('content-type')).toBe('model/gltf-binary');
      expect(Number(answer.headers.get('content-length'))).toBe(file.length);
      await expectExtracted(model, file, alone(index));
      expect((await download(path)).equals(file)).toBe(true);
    }
  });

  it('answers If-None-Match and ranges, over every border between its parts', async () => {
    const path = `${BASE}/variants/v.glb`;
    const file = await download(path);
    const etag = `"${sha256(file)}"`;
    expect((await get(path, { 'if-none-match': etag })).status).toBe(304);
    const head = file.readUInt32LE(12) + 28;
    for (const [start, end] of [
      [0, 0],
      [head - 3, head + 3],
      [0, head - 1],
      [head, head],
      [7, file.length - 2],
      [file.length - 1, file.length - 1],
    ] as const) {
      const part = await get(path, { range: `bytes=${start}-${end}` });
      expect(part.status).toBe(206);
      expect(part.headers.get('content-range')).toBe(`bytes ${start}-${end}/${file.length}`);
      expect(Buffer.from(await part.arrayBuffer()).equals(file.subarray(start, end + 1))).toBe(true);
    }
    expect((await get(path, { range: `bytes=${file.length}-` })).status).toBe(416);
  });

  it('is the same after a restart, and when it was never remembered', async () => {
    const before = await download(`${BASE}/variants/x.glb`);
    await service.close();
    service = await startService({}, join(folder, 'data'));
    expect((await download(`${BASE}/variants/x.glb`)).equals(before)).toBe(true);
    expect(
      (await download(`${BASE}/model.glb?variants=x`)).equals(await download(`${BASE}/model.glb?variants=X,x`)),
    ).toBe(true);
  });

  it('stores nothing twice', async () => {
    const content = () =>
      readdirSync(join(folder, 'data', 'files'), { recursive: true, withFileTypes: true })
        .filter((one) => one.isFile())
        .map(({ name }) => name)
        .sort();
    const before = content();
    for (const code of CODES) await download(`${BASE}/variants/${encodeURIComponent(code)}.glb`);
    await download(`${BASE}/bundle.zip?forms=model,variants`);
    expect(content()).toEqual(before);
  });

  it('is refused for a variant that the delivery does not have', async () => {
    const answer = await service.call('GET', `${BASE}/variants/NONE.glb`);
    expect([answer.status, answer.body.code]).toEqual([404, 'unknown-variant']);
  });

  it('stays as it was delivered when the schedule changes', async () => {
    const before = await download(`${BASE}/variants/w.glb`);
    const changed = rows.map((row) => ({ ...row, choices: { ...row.choices, [shell]: SHELLS[0]! } }));
    const put = (variants: typeof rows) =>
      service.call('PUT', '/api/products/TOUCH/schedule', { default: 'z_9', variants });
    expect((await put(changed.slice(0, 4))).status).toBe(200);
    expect((await download(`${BASE}/variants/w.glb`)).equals(before)).toBe(true);
    expect((await put(rows)).status).toBe(200);
  });
});

describe('a part of the variants', () => {
  it('has them in the order of the schedule, and shows the default first if it has it', async () => {
    const some = await download(`${BASE}/model.glb?variants=x,z_9,CON`);
    const indices = ['CON', 'z_9', 'x'].map((code) => CODES.indexOf(code));
    await expectExtracted(model, some, { variants: indices, first: CODES.indexOf('z_9'), withExtension: true });
    const other = await download(`${BASE}/model.glb?variants=${encodeURIComponent(' x , v ')}`);
    await expectExtracted(model, other, { variants: [7, 9], first: 7, withExtension: true });
  });

  it('is refused when it is empty, or names what the delivery does not have', async () => {
    const codeOf = async (query: string) => {
      const { status, body } = await service.call('GET', `${BASE}/model.glb?variants=${query}`);
      return [status, body.code];
    };
    expect(await codeOf('')).toEqual([400, 'no-variants-asked']);
    expect(await codeOf(',%20,')).toEqual([400, 'no-variants-asked']);
    expect(await codeOf('CON,NONE')).toEqual([404, 'unknown-variant']);
  });
});

describe('a split', () => {
  it('makes a file for each pair of articles that occurs, or for each article of one slot', async () => {
    const post = (body: object) => service.call('POST', '/api/products/TOUCH/deliveries', body);
    const both = await post({ splitBy: 'article' });
    expect([both.status, both.body.delivery, both.body.unchanged]).toEqual([200, 1, true]);
    const list = (body: { files: { form: string; details?: { variants?: number } }[] }) =>
      body.files.filter(({ form }) => form.startsWith('parts/')).map(({ form, details }) => [form, details?.variants]);
    const parts = [
      ['parts/article-COAT.glb', 4],
      ['parts/article-WOOD.glb', 4],
      ['parts/article-none.glb', 2],
    ];
    expect(list(both.body)).toEqual(parts);
    const grades = await post({ splitBy: 'grade', slot: trim });
    expect(list(grades.body)).toEqual(
      [...parts, [`parts/grade-${trim}-A.glb`, 4], [`parts/grade-${trim}-B.glb`, 6]].sort(),
    );
    // a later call finds the same parts, whatever the line says meanwhile
    expect(list((await post({ splitBy: 'grade', slot: trim })).body)).toEqual(list(grades.body));
    const { body } = await service.call('GET', BASE);
    for (const { path, form } of body.files.filter(({ form }: { form: string }) => form.startsWith('parts/'))) {
      const file = await download(path);
      const names = variantNames(readGlb(file));
      const variants = names.map((name) => rows.findIndex((row) => row.name === name));
      await expectExtracted(model, file, {
        variants,
        first: variants.includes(3) ? 3 : variants[0]!,
        withExtension: true,
      });
      const { body: again } = await service.call('GET', BASE);
      const listed = again.files.find((one: { form: string }) => one.form === form);
      expect([listed.sha256, listed.bytes]).toEqual([sha256(file), file.length]);
    }
  });

  it('is refused where nothing divides, and for a slot that the product does not have', async () => {
    const post = async (body: object) => {
      const { status, body: answer } = await service.call('POST', '/api/products/TOUCH/deliveries', body);
      return [status, answer.code];
    };
    expect(await post({ splitBy: 'grade', slot: shell })).toEqual([422, 'nothing-to-split']);
    expect(await post({ splitBy: 'article', slot: 'none' })).toEqual([404, 'unknown-slot-key']);
    const { status, body } = await service.call('GET', `${BASE}/parts/article-SILK.glb`);
    expect([status, body.code]).toEqual([404, 'unknown-form']);
  });
});

describe('a zip', () => {
  it('has every file at its path, and other programs unpack it', async () => {
    const zip = join(folder, 'all.zip');
    const bytes = await download(`${BASE}/bundle.zip?forms=model,variants,parts,samples`);
    writeFileSync(zip, bytes);
    expect((await download(`${BASE}/bundle.zip?forms=model,variants,parts,samples`)).equals(bytes)).toBe(true);
    execFileSync('unzip', ['-tqq', zip]);
    const out = join(folder, 'out');
    execFileSync('unzip', ['-qq', zip, '-d', out]);
    const names = readdirSync(out, { recursive: true, withFileTypes: true })
      .filter((one) => one.isFile())
      .map(({ name, parentPath }) => join(parentPath, name).slice(out.length + 1));
    const { body } = await service.call('GET', BASE);
    const files = [
      'manifest.json',
      ...body.files.map(({ form }: { form: string }) => form),
      ...CODES.map((code) => `variants/${code.replace(/^(CON|nul)(?=\.|$)/, '$1_')}.glb`),
    ];
    expect(names.sort()).toEqual(files.map((form) => `TOUCH-1/${form}`).sort());
    expect(readFileSync(join(out, 'TOUCH-1/model.glb')).equals(model)).toBe(true);
    expect(readFileSync(join(out, 'TOUCH-1/variants/v.glb')).equals(await download(`${BASE}/variants/v.glb`))).toBe(
      true,
    );
    expect(JSON.parse(readFileSync(join(out, 'TOUCH-1/manifest.json'), 'utf8'))).toEqual(
      (await service.call('GET', `${BASE}/manifest.json`)).body,
    );
    expect(statSync(join(out, 'TOUCH-1/model.glb')).mode & 0o777).toBe(0o644);
  });

  it('holds without a choice every file of the list, and refuses a form that the delivery does not have', async () => {
    const zip = join(folder, 'list.zip');
    writeFileSync(zip, await download(`${BASE}/bundle.zip`));
    const { body } = await service.call('GET', BASE);
    const listed = execFileSync('unzip', ['-Z1', zip], { encoding: 'utf8' }).trim().split('\n');
    expect(listed.sort()).toEqual(
      ['manifest.json', ...body.files.map(({ form }: { form: string }) => form)]
        .map((form) => `TOUCH-1/${form}`)
        .sort(),
    );
    const refused = await service.call('GET', `${BASE}/bundle.zip?forms=model,meshopt-webp`);
    expect([refused.status, refused.body.code]).toEqual([404, 'unknown-form']);
  });
});

describe('samples', () => {
  it('have a plate for each finish, with its label, and stay as the finishes were', async () => {
    const file = await download(`${BASE}/samples.glb`);
    const { json } = readGlb(file);
    const { body: manifest } = await service.call('GET', `${BASE}/manifest.json`);
    const labels = manifest.finishes.map(({ finish, name }: { finish: string; name: string }) => `${finish} ${name}`);
    for (const key of ['nodes', 'meshes', 'materials'] as const)
      expect(json[key]!.map(({ name }) => name)).toEqual(labels);
    expect(json.extensionsUsed ?? []).not.toContain('KHR_materials_variants');
    expect(await listValidatorErrors(file)).toEqual([]);
    const opened = await openInBabylon(file);
    expect(opened.list().map(({ material }) => material)).toEqual(labels);
    opened.close();
    const { min, max } = await measureInThree(file);
    // five plates of 100 mm in two rows of three, 20 mm apart
    expect([...min, ...max].map((value) => Math.round(value * 1000) + 0)).toEqual([-170, 0, -10, 170, 220, 10]);
    const put = await service.call('PUT', '/api/finishes/brass-5', {
      name: 'Other',
      family: 'paint',
      colour: { hex: '#ff0000' },
    });
    expect(put.status).toBe(200);
    await service.close();
    service = await startService({}, join(folder, 'data'));
    const again = await get(`${BASE}/samples.glb`);
    expect(again.headers.get('etag')).toBe(`"${sha256(file)}"`);
    expect(Buffer.from(await again.arrayBuffer()).equals(file)).toBe(true);
  });

  it('are made of the definition at the time of the delivery', async () => {
    // its samples are made after the next change
    const { body } = await service.call('GET', '/api/finishes/brass-5');
    expect(body.name).toBe('Other');
    expect((await service.call('POST', '/api/products/TOUCH/deliveries', {})).status).toBe(201);
    const base = '/api/products/TOUCH/deliveries/2';
    const put = await service.call('PUT', '/api/finishes/brass-5', {
      name: 'Third',
      family: 'paint',
      colour: { hex: '#000000' },
    });
    expect(put.status).toBe(200);
    const { json } = readGlb(await download(`${base}/samples.glb`));
    const { pbrMetallicRoughness: pbr } = json.materials!.find(({ name }) => name === 'brass-5 Other')!;
    expect(pbr?.baseColorFactor).toEqual([1, 0, 0, 1]);
  });
});

describe('a full disk', () => {
  const base = '/api/products/TOUCH/deliveries/3';
  let end: (() => void)[] = [];
  afterEach(() => {
    for (const each of end.reverse()) each();
    end = [];
  });

  it('takes no file of a variant away: only its digest is not remembered', async () => {
    expect((await service.call('POST', '/api/products/TOUCH/deliveries', {})).body.delivery).toBe(3);
    end.push(failStatements('SQLITE_FULL', /^\s*insert/i));
    const file = await download(`${base}/variants/v.glb`);
    expect(variantNames(readGlb(file))).toEqual([]);
    for (const each of end.splice(0)) each();
    expect((await download(`${base}/variants/v.glb`)).equals(file)).toBe(true);
  });

  it.each(['rename', 'insert'])('stores samples whole or not at all when %s fails', async (step) => {
    end.push(
      step === 'insert'
        ? failStatements('SQLITE_FULL', /^\s*insert/i)
        : await failFiles('ENOSPC', ({ name, path }) => name === step && path.includes(join(folder, 'data', 'files'))),
    );
    // threads write with their own functions: what they wrote is given up here
    const answer = await service.call('GET', `${base}/samples.glb`);
    expect([answer.status, answer.body.code]).toEqual([507, 'storage-full']);
    for (const each of end.splice(0)) each();
    expect(readdirSync(join(folder, 'data', 'files', 'temporary'))).toEqual([]);
    const { body } = await service.call('GET', base);
    const listed = body.files.find(({ form }: { form: string }) => form === 'samples.glb');
    expect(listed.sha256).toBeUndefined();
  });

  it('makes them afterwards', async () => {
    expect(readGlb(await download(`${base}/samples.glb`)).json.nodes).toHaveLength(5);
  });
});
