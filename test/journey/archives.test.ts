import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { exportCommand } from '../../server/commands/export.ts';
import { readZip } from '../support/read-zip.ts';
import { type Answer, startService, type TestService } from '../support/start-service.ts';
import { readStoredState } from '../support/stored-state.ts';

// A line moves from one service to another: everything arrives as it was, once. Outside reader of the archive: Info-ZIP's unzip.

const ZIP = { 'content-type': 'application/zip' };
let here: TestService;
let there: TestService;
let line = '';
let products: string[] = [];
let archive: Buffer;
let folder: string;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'dyeworks-archives-'));
  here = await startService({ DYEWORKS_DEMO: 'on' });
  await here.filled;
  there = await startService();
  const [first] = (await here.call('GET', '/api/lines')).body.lines;
  line = first.line;
  products = first.products;
  for (const product of products) {
    expect((await here.call('POST', `/api/products/${product}/deliveries`, {})).status).toBe(201);
    const { body } = await here.call('GET', `/api/products/${product}/schedule`);
    const decision = { decision: 'approved', person: 'Ida', light: 'D65', shown: 'sample' };
    const path = `/api/products/${product}/variants/${body.variants[0].code}/approvals`;
    expect((await here.call('POST', path, decision)).status).toBe(201);
    const [used] = Object.values(body.variants[0].choices);
    expect((await here.call('POST', `/api/finishes/${used}/approvals`, decision)).status).toBe(201);
  }
  const repairs = { steps: [{ repair: 'strip-unused' }] };
  expect((await here.call('PUT', `/api/products/${products[0]}/preparation`, repairs)).status).toBeLessThan(300);
  archive = await exportLine(here);
});
afterAll(async () => {
  await here.close();
  await there.close();
  rmSync(folder, { recursive: true, force: true });
});

async function exportLine(service: TestService): Promise<Buffer> {
  const answer = await fetch(`${service.url}/api/lines/${line}/archive.zip`);
  expect(answer.status).toBe(200);
  return Buffer.from(await answer.arrayBuffer());
}

const send = (service: TestService, body: Buffer, query = ''): Promise<Answer> =>
  service.call('POST', `/api/archives${query}`, body, ZIP);
const outcomes = ({ body }: Answer) =>
  Object.fromEntries(
    [...new Set<string>(body.entries.map((entry: { kind: string }) => entry.kind))].map((kind) => [
      kind,
      [
        ...new Set(
          body.entries
            .filter((each: { kind: string }) => each.kind === kind)
            .map((each: { outcome: string }) => each.outcome),
        ),
      ],
    ]),
  );

async function load(service: TestService, path: string): Promise<string | null> {
  const answer = await fetch(service.url + path);
  await answer.arrayBuffer();
  expect(answer.status).toBe(200);
  return answer.headers.get('etag');
}

it('is a zip that unzip reads, with every digest in archive.json', async () => {
  const path = join(folder, 'line.zip');
  writeFileSync(path, archive);
  expect(execFileSync('unzip', ['-t', path], { encoding: 'utf8' })).toContain('No errors detected');
  const files = await readZip(archive);
  const statement = JSON.parse(files.get('archive.json')!.toString());
  expect(statement).toMatchObject({ format: 'dyeworks-archive/1', line });
  expect(statement.files.map(({ path: name }: { path: string }) => name).sort()).toEqual(
    [...files.keys()].filter((name) => name !== 'archive.json').sort(),
  );
});

it('is written by the command line too, beside a running service', async () => {
  const path = join(folder, 'by-command.zip');
  expect(await exportCommand([line, '-o', path, '--json'], { DYEWORKS_DATA: here.dataFolder })).toBe(0);
  const [one, other] = [await readZip(archive), await readZip(execFileSync('cat', [path], { maxBuffer: 1e9 }))];
  one.delete('archive.json');
  other.delete('archive.json');
  expect([...other.keys()]).toEqual([...one.keys()]);
  for (const [name, bytes] of one) expect(other.get(name)!.equals(bytes), name).toBe(true);
});

it('brings the demo line to an empty service: the same deliveries, pictures, decisions and changes to come', async () => {
  const listed = await send(there, archive, '?dryRun=1');
  expect(listed).toMatchObject({ status: 200, body: { line, changed: false } });
  expect(outcomes(listed)).toMatchObject({
    line: ['create'],
    product: ['create'],
    finish: ['create'],
    article: ['create'],
  });
  expect((await there.call('GET', '/api/lines')).body.lines).toEqual([]);
  const imported = await send(there, archive);
  expect(imported).toMatchObject({ status: 201, body: { changed: true } });
  const same = [
    '/api/lines',
    `/api/lines/${line}`,
    `/api/lines/${line}/approvals`,
    `/api/lines/${line}/rules`,
    '/api/finishes',
    '/api/articles',
  ];
  for (const product of products) {
    const base = `/api/products/${product}`;
    const parts = [
      '',
      '/slots',
      '/survey?pieces=1',
      '/readiness',
      '/schedule',
      '/preparation',
      '/approvals',
      '/revisions',
    ];
    same.push(...parts.map((part) => base + part));
    same.push(...['', '/pending', '/1', '/1/manifest.json'].map((part) => `${base}/deliveries${part}`));
    const bytes = `${base}/deliveries/1/model.glb`;
    expect(await load(there, bytes)).toBe(await load(here, bytes));
    const { body } = await here.call('GET', `${base}/schedule`);
    for (const { code } of body.variants.slice(0, 2)) {
      const picture = `${base}/pictures/${code}.png?size=128`;
      expect(await load(there, picture)).toBe(await load(here, picture));
    }
  }
  const [{ finish }] = (await here.call('GET', '/api/finishes')).body.finishes;
  same.push(`/api/finishes/${finish}/revisions`);
  for (const path of same)
    expect((await there.call('GET', path)).body, path).toEqual((await here.call('GET', path)).body);
});

it('changes nothing a second time, and says where it came from', async () => {
  const before = await readStoredState(there);
  const again = await send(there, archive);
  expect(again).toMatchObject({ status: 200, body: { changed: false } });
  expect(new Set(Object.values(outcomes(again)).flat())).toEqual(new Set(['none']));
  expect(await readStoredState(there)).toEqual(before);
  const { imports } = (await there.call('GET', '/api/archives')).body;
  expect(imports).toMatchObject([{ import: 1, source: { line, sha256: expect.stringMatching(/^[0-9a-f]{64}$/) } }]);
  // what this service exports is the same again
  const [one, other] = [await readZip(archive), await readZip(await exportLine(there))];
  for (const name of ['deliveries', 'models', 'schedules', 'slots', 'line_range', 'delivery_files']) {
    const path = `records/${name}.jsonl`;
    expect(other.get(path)?.toString(), name).toBe(one.get(path)?.toString());
  }
});

it('lists what exists already and differs, and stores nothing without a decision', async () => {
  const { finishes } = (await there.call('GET', '/api/finishes')).body;
  const { finish, name, family } =
    finishes.find((each: { article?: string }) => each.article === undefined) ?? finishes[0];
  const path = `/api/finishes/${finish}`;
  expect((await there.call('PUT', path, { name, family, colour: { hex: '#123456' } })).status).toBe(200);
  const changed = (await there.call('GET', path)).body;
  const [product] = products;
  expect((await there.call('PATCH', `/api/products/${product}`, { name: 'Another name' })).status).toBe(200);
  const listed = await send(there, archive, '?dryRun=1&finish=keep');
  const conflicts = listed.body.entries.filter(({ state }: { state: string }) => state === 'conflict');
  expect(conflicts).toEqual([
    {
      kind: 'product',
      code: product,
      state: 'conflict',
      differs: ['definition'],
      replaceable: true,
      outcome: 'undecided',
    },
    { kind: 'finish', code: finish, state: 'conflict', differs: ['definition'], replaceable: true, outcome: 'keep' },
  ]);
  const before = await readStoredState(there);
  const refused = await send(there, archive, '?finish=keep');
  expect(refused).toMatchObject({ status: 409, body: { code: 'archive-conflicts', findings: [conflicts[0]] } });
  expect(await readStoredState(there)).toEqual(before);

  expect((await send(there, archive, '?finish=keep&product=replace')).status).toBe(201);
  expect((await there.call('GET', path)).body).toEqual(changed);
  expect((await there.call('GET', `/api/products/${product}`)).body.name).not.toBe('Another name');
  // a definition that replaces another is its next revision
  expect((await send(there, archive, '?finish=replace')).status).toBe(201);
  const replaced = (await there.call('GET', path)).body;
  const original = (await here.call('GET', path)).body;
  expect(replaced).toEqual({ ...original, revision: changed.revision + 1 });
  expect((await there.call('GET', `${path}/revisions`)).body.revisions[0]).toMatchObject({ how: 'imported' });
});

it('brings what was delivered since, and never replaces a delivery by another of the same number', async () => {
  const [product] = products;
  const base = `/api/products/${product}`;
  const { default: first, variants } = (await here.call('GET', `${base}/schedule`)).body;
  const fewer = variants.filter(({ code }: { code: string }, at: number) => code === first || at % 2 === 0);
  const strip = ({ code, name, choices }: Record<string, unknown>) => ({ code, name, choices });
  const schedule = { default: first, variants: fewer.map(strip) };
  expect((await here.call('PUT', `${base}/schedule`, schedule)).status).toBe(200);
  expect((await here.call('POST', `${base}/deliveries`, {})).body.delivery).toBe(2);
  const later = await exportLine(here);
  const listed = await send(there, later, '?dryRun=1&product=replace');
  expect(
    listed.body.entries.find(
      ({ kind, code }: { kind: string; code: string }) => kind === 'product' && code === product,
    ),
  ).toMatchObject({
    differs: ['deliveries', 'schedule'],
    replaceable: true,
    outcome: 'replace',
  });
  expect((await send(there, later, '?product=replace')).status).toBe(201);
  expect(await load(there, `${base}/deliveries/2/model.glb`)).toBe(await load(here, `${base}/deliveries/2/model.glb`));
  expect((await there.call('GET', `${base}/deliveries/pending`)).body).toEqual(
    (await here.call('GET', `${base}/deliveries/pending`)).body,
  );
  // both go on and deliver another third
  for (const [service, kept] of [
    [here, 1],
    [there, 2],
  ] as const) {
    const third = {
      default: first,
      variants: fewer.map(strip).filter(({ code }: { code: unknown }, at: number) => code === first || at < kept + 1),
    };
    expect((await service.call('PUT', `${base}/schedule`, third)).status).toBe(200);
    expect((await service.call('POST', `${base}/deliveries`, {})).body.delivery).toBe(3);
  }
  const before = await load(there, `${base}/deliveries/3/model.glb`);
  const refused = await send(there, await exportLine(here), '?product=replace');
  expect(refused).toMatchObject({ status: 409, body: { findings: [{ code: product, replaceable: false }] } });
  expect(await load(there, `${base}/deliveries/3/model.glb`)).toBe(before);
});
