import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdir, mkdtemp, readdir, readFile, rename, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { ROOT } from '../../server/root.ts';
import { NO_SANDBOX } from '../renderer/built-studio.ts';
import { sha256 } from '../support/glb.ts';
import { addTwoPositions, FINISHES, putLineOfFinishes } from '../support/job.ts';
import { readZip } from '../support/read-zip.ts';
import { readRegistryModel } from '../support/registry-models.ts';
import { waitForJob } from '../support/run-job.ts';
import { startService, type TestService } from '../support/start-service.ts';

// The whole job by the command line, from files and without a server. The service gets the same data through its API: both must
// give the same bytes, since one core makes them. Model: registry package @webxr-input-profiles/assets 1.0.20 (MIT).

let service: TestService;
let slots: readonly [shell: string, trim: string];
let folder: string;
let temporary: string;
const path = (name: string) => join(folder, name);

const VARIANTS = [
  { code: 'V1', name: 'Tarn on oak', shell: 'TARN.3', trim: 'OAK-1' },
  { code: 'V2', name: 'Coal on tarn', shell: 'COAL_4', trim: 'TARN.3' },
];
const PREPARATION = { steps: [{ repair: 'scale', factor: 2 }] };

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'dyeworks-pipeline-'));
  temporary = path('tmp');
  await mkdir(temporary);
  service = await startService();
  await putLineOfFinishes(service);
  slots = await addTwoPositions(service);
  expect((await service.call('PUT', '/api/products/TOUCH/preparation', PREPARATION)).status).toBe(200);
  const again = await service.call('PUT', '/api/products/TOUCH/model', readRegistryModel('oculus-touch/left.glb'), {
    'content-type': 'model/gltf-binary',
  });
  expect(again.status).toBe(201);
  const variants = VARIANTS.map(({ code, name, shell, trim }) => ({
    code,
    name,
    choices: { [slots[0]]: shell, [slots[1]]: trim },
  }));
  const schedule = { default: 'V1', variants };
  expect((await service.call('PUT', '/api/products/TOUCH/schedule', schedule, { 'if-none-match': '*' })).status).toBe(
    200,
  );

  const { body: line } = await service.call('GET', '/api/lines/FEN');
  const finishes = Object.fromEntries(
    Object.entries(FINISHES).map(([code, { name, family, hex }]) => [code, { name, family, colour: { hex } }]),
  );
  const product = {
    code: 'TOUCH',
    name: 'Product TOUCH',
    line: { code: 'FEN', name: line.name, positions: line.positions, range: line.range },
    slots: { [slots[0]]: { position: 'shell' }, [slots[1]]: { position: 'trim' } },
  };
  await writeFile(path('model.glb'), readRegistryModel('oculus-touch/left.glb'));
  await writeFile(path('finishes.json'), JSON.stringify({ finishes }));
  await writeFile(path('product.json'), JSON.stringify(product));
  await writeFile(path('preparation.json'), JSON.stringify(PREPARATION));
  const rows = VARIANTS.map(({ code, name, shell, trim }) => `${code},${name},${shell},${trim}`);
  await writeFile(path('schedule.csv'), [`code,name,${slots.join(',')}`, ...rows, ''].join('\r\n'));
});

afterAll(async () => {
  await service?.close();
  await rm(folder, { recursive: true, force: true });
});

const JOB = ['--finishes', 'finishes.json', '--schedule', 'schedule.csv', '--product', 'product.json'];

/** Stores of commands. The browser's profile of a process that was stopped is swept by the next one. */
const listTemporary = async () =>
  (await readdir(temporary)).filter((name) => name.startsWith('dyeworks-') && !name.startsWith('dyeworks-studio'));

function start(args: readonly string[]) {
  const child = spawn(process.execPath, [join(ROOT, 'server', 'dyeworks.mjs'), ...args], {
    cwd: folder,
    env: { ...process.env, TMPDIR: temporary, DYEWORKS_SANDBOX: NO_SANDBOX ? 'off' : 'auto' },
  });
  const said = { out: '', err: '' };
  child.stdout.on('data', (text) => (said.out += text));
  child.stderr.on('data', (text) => (said.err += text));
  return { child, said, ended: once(child, 'exit') as Promise<[number]> };
}

/** Runs a command to its end, with `--json`, and returns what it prints. */
async function run(...args: readonly string[]) {
  const { said, ended } = start([...args, '--json']);
  const [status] = await ended;
  expect(said.err).toBe('');
  expect(status).toBe(0);
  return JSON.parse(said.out);
}

describe('the job without a server', () => {
  it('delivers the same bytes as the service', async () => {
    const { status, body } = await service.call('POST', '/api/products/TOUCH/deliveries', {});
    expect(status).toBe(201);
    const job = [...JOB, '--preparation', 'preparation.json', '-o', 'out.glb'];
    const printed = await run('deliver', 'model.glb', ...job);
    expect(printed).toMatchObject({
      product: 'TOUCH',
      names: 'name',
      file: { sha256: body.sha256, bytes: body.bytes },
    });
    expect(sha256(await readFile(path('out.glb')))).toBe(body.sha256);
  });

  it('writes every form as the service bundles them, into a folder or a zip', async () => {
    const job = [...JOB, '--preparation', 'preparation.json', '--split-by', 'grade', '--address', service.url];
    const forms = 'model,variants,samples,parts,usd,quantised,feed';
    const { written } = await run('deliver', 'model.glb', ...job, '--forms', forms, '-o', 'bundle.zip');
    await run('deliver', 'model.glb', ...job, '--forms', forms, '-o', 'bundle');
    const split = await service.call('POST', '/api/products/TOUCH/deliveries', { splitBy: 'grade' });
    expect([200, 201]).toContain(split.status);
    const made = await service.call('POST', '/api/products/TOUCH/deliveries', { forms: ['quantised'] });
    expect(made.status).toBe(202);
    await waitForJob(service, made.body.job.split('/').at(-1));
    const answer = await fetch(`${service.url}/api/products/TOUCH/deliveries/1/bundle.zip?forms=${forms}`);
    const served = await readZip(Buffer.from(await answer.arrayBuffer()));
    const own = await readZip(await readFile(path('bundle.zip')));
    expect([...own.keys()]).toEqual(written);
    expect([...own.keys()]).toEqual([...served.keys()]);
    for (const [name, bytes] of own) {
      // these have the time of their delivery
      if (/(manifest|feed)\.json(ld)?$/.test(name)) continue;
      expect(sha256(bytes), name).toBe(sha256(served.get(name)!));
      expect(sha256(await readFile(join(path('bundle'), name))), name).toBe(sha256(bytes));
    }
  });

  it('writes the shop data as the service does', async () => {
    const job = [...JOB, '--preparation', 'preparation.json', '--address', `${service.url}/`];
    expect(await run('feed', 'model.glb', ...job, '-o', 'feed.csv')).toMatchObject({ variants: 2 });
    const served = await fetch(`${service.url}/api/products/TOUCH/deliveries/1/feed.csv`);
    expect(await readFile(path('feed.csv'), 'utf8')).toBe(await served.text());
  });

  it('makes a preparation as the service does', async () => {
    const printed = await run('repair', 'model.glb', '--preparation', 'preparation.json', '-o', 'prepared.glb');
    const { body } = await service.call('GET', '/api/products/TOUCH');
    expect(printed).toMatchObject({ sha256: body.model.sha256, reports: [{ outcome: 'done' }] });
  });

  it('takes the same pictures as the service', async () => {
    const job = [...JOB, '--preparation', 'preparation.json', '-o', 'pictures', '--size', '96'];
    const { files } = await run('pictures', 'model.glb', ...job, '--views', 'front,top', '--variants', 'v2');
    expect(await readdir(path('pictures'))).toEqual(['V2_front.png', 'V2_top.png']);
    for (const { view, path: name, sha256: digest } of files) {
      const answer = await fetch(`${service.url}/api/products/TOUCH/pictures/V2.png?size=96&view=${view}&ground=white`);
      expect(answer.status).toBe(200);
      expect(sha256(new Uint8Array(await answer.arrayBuffer()))).toBe(digest);
      expect(sha256(await readFile(path(name)))).toBe(digest);
    }
  });

  it('writes a catalogue with the same files as the service', async () => {
    const job = [...JOB, '--preparation', 'preparation.json', '-o', 'catalogue.zip', '--size', '64'];
    const printed = await run('catalogue', 'model.glb', ...job);
    const theirs = await fetch(`${service.url}/api/products/TOUCH/catalogue.zip?size=64`);
    const [own, served] = [await readFile(path('catalogue.zip')), Buffer.from(await theirs.arrayBuffer())];
    const digests = async (zip: Buffer) => [...(await readZip(zip))].map(([name, bytes]) => [name, sha256(bytes)]);
    expect(await digests(own)).toEqual(await digests(served));
    expect(printed.files).toHaveLength((await readZip(own)).size);
  });
});

describe('--watch', () => {
  it('delivers again when the model is exported again, and reports a model that it cannot read', async () => {
    const { child, said, ended } = start(['deliver', 'model.glb', ...JOB, '-o', 'watched.glb', '--watch']);
    const rounds = (count: number) =>
      expect.poll(() => said.err.split('Waiting for changes').length - 1, { timeout: 120_000 }).toBe(count);
    await rounds(1);
    const first = sha256(await readFile(path('watched.glb')));
    const steps = ['repair', 'model.glb', '--preparation', 'preparation.json', '-o', 'next.glb'];
    await run(...steps);
    await rename(path('next.glb'), path('model.glb'));
    await rounds(2);
    const second = sha256(await readFile(path('watched.glb')));
    expect(second).not.toBe(first);
    await writeFile(path('model.glb'), 'no model');
    await rounds(3);
    expect(said.err).toMatch(/^model-\w+/m);
    expect(sha256(await readFile(path('watched.glb')))).toBe(second);
    await writeFile(path('model.glb'), readRegistryModel('oculus-touch/left.glb'));
    await rounds(4);
    expect(sha256(await readFile(path('watched.glb')))).toBe(first);
    child.kill('SIGINT');
    expect((await ended)[0]).toBe(0);
    expect(await listTemporary()).toEqual([]);
  });

  it('leaves nothing behind when a signal ends the work', async () => {
    const { child, ended } = start(['pictures', 'model.glb', ...JOB, '-o', 'cut', '--size', '1024']);
    await expect.poll(listTemporary, { timeout: 60_000 }).not.toEqual([]);
    child.kill('SIGTERM');
    expect((await ended)[0]).toBe(130);
    expect(await listTemporary()).toEqual([]);
  });
});
