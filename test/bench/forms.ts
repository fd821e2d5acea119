import { spawn } from 'node:child_process';
import { readdirSync, readFileSync, statSync } from 'node:fs';
import { get } from 'node:http';
import { join } from 'node:path';
import { ROOT } from '../../server/root.ts';
import { writeBigModel } from './big-model.ts';
import { row, summarise } from './measure.ts';

const MEGABYTES = 20;
const SLOTS = 3;
const FINISHES = 10;
const VARIANTS = FINISHES ** SLOTS;
const MEBI = 1024 * 1024;
const BASE = '/api/products/BIG/deliveries/1';

/**
 * A thousand files of one variant each of a model of 20 MB, one after the other over HTTP, beside as many bytes of the delivered
 * file itself; and as many bytes of a zip of them. The service is a process of its own.
 * @param count fewer variants, for a quick look
 */
export async function benchForms(folder: string, count = VARIANTS): Promise<void> {
  const model = join(folder, 'big.glb');
  await writeBigModel(model, MEGABYTES, SLOTS, 60);
  const data = join(folder, 'forms');
  const service = await start(data);
  try {
    await fill(service.url, model);
    const { bytes } = await take(`${service.url}${BASE}/model.glb`);
    const codes = Array.from({ length: count }, (_, index) => `V${index}`);
    const stored = measureFolder(data);
    console.log(
      `\n${count} files of single variants of a delivery of ${(bytes / MEBI).toFixed(1)} MB and ${VARIANTS} variants, over HTTP`,
    );
    const memory: number[] = [];
    const rounds = { model: [] as number[], first: [] as number[], again: [] as number[] };
    // in blocks in turn, so that all meet the same moods of the machine
    const block = Math.max(1, count / 10);
    for (let from = 0; from < count; from += block) {
      const part = codes.slice(from, from + block);
      rounds.model.push(await time(part.length, () => take(`${service.url}${BASE}/model.glb`)));
      rounds.first.push(await time(part.length, (n) => take(`${service.url}${BASE}/variants/${part[n]}.glb`)));
      rounds.again.push(await time(part.length, (n) => take(`${service.url}${BASE}/variants/${part[n]}.glb`)));
      memory.push(readMemory(service.pid));
    }
    const median = (list: readonly number[]) => summarise(list).median;
    row('the delivered file, each', `${median(rounds.model).toFixed(1)} ms`);
    row('a variant, first time (digested)', `${median(rounds.first).toFixed(1)} ms`);
    row('  ÷ the delivered file', (median(rounds.first) / median(rounds.model)).toFixed(2), 'aim ≤ 1.5');
    row('a variant, again', `${median(rounds.again).toFixed(1)} ms`);
    row('  ÷ the delivered file', (median(rounds.again) / median(rounds.model)).toFixed(2), 'aim ≤ 1.5');
    row('resident memory after each tenth', memory.map((mb) => mb.toFixed(0)).join(' '), 'aim: flat');
    row('added to the data folder', `${((measureFolder(data) - stored) / MEBI).toFixed(1)} MB`, 'aim: no copies');
    const begun = performance.now();
    const zip = await take(`${service.url}${BASE}/bundle.zip?forms=variants`, count * bytes);
    const took = ((performance.now() - begun) * bytes) / zip.bytes;
    row('a zip of variants, each', `${took.toFixed(1)} ms, ${((bytes / MEBI / took) * 1000).toFixed(0)} MB/s`);
    row('  ÷ the delivered file', (took / median(rounds.model)).toFixed(2), 'aim: as the disk');
    row('resident memory after it', `${readMemory(service.pid).toFixed(0)} MB`);
  } finally {
    await service.close();
  }
}

async function time(count: number, work: (n: number) => Promise<unknown>): Promise<number> {
  const begun = performance.now();
  for (let n = 0; n < count; n++) await work(n);
  return (performance.now() - begun) / count;
}

/** Reads an answer and forgets its bytes. */
function take(url: string, most = Number.POSITIVE_INFINITY): Promise<{ readonly bytes: number }> {
  return new Promise((resolve, reject) => {
    get(url, (answer) => {
      if (answer.statusCode !== 200) reject(new Error(`${url}: ${answer.statusCode}`));
      let bytes = 0;
      answer.on('data', (chunk: Buffer) => {
        bytes += chunk.length;
        if (bytes < most) return;
        answer.destroy();
        resolve({ bytes });
      });
      answer.on('end', () => resolve({ bytes }));
      answer.on('error', reject);
    }).on('error', reject);
  });
}

async function fill(url: string, model: string): Promise<void> {
  const call = async (method: string, path: string, body: unknown, type = 'application/json') => {
    const answer = await fetch(`${url}${path}`, {
      method,
      headers: { 'content-type': type },
      body: type === 'application/json' ? JSON.stringify(body) : (body as Buffer<ArrayBuffer>),
    });
    if (answer.status >= 300) throw new Error(`${method} ${path}: ${answer.status} ${await answer.text()}`);
    return (await answer.json()) as { slots?: { slot: string }[] };
  };
  for (let finish = 0; finish < FINISHES; finish++) {
    await call('PUT', `/api/finishes/F${finish}`, {
      name: `Finish ${finish}`,
      family: 'paint',
      colour: { hex: `#${(0x203040 + finish * 0x101010).toString(16)}` },
    });
  }
  await call('POST', '/api/products', { code: 'BIG', name: 'Big' });
  const { slots } = await call('PUT', '/api/products/BIG/model', readFileSync(model), 'model/gltf-binary');
  const variants = Array.from({ length: VARIANTS }, (_, at) => ({
    code: `V${at}`,
    name: `Variant ${at}.`,
    choices: Object.fromEntries(slots!.map(({ slot }, n) => [slot, `F${Math.floor(at / FINISHES ** n) % FINISHES}`])),
  }));
  await call('PUT', '/api/products/BIG/schedule', { default: 'V0', variants });
  await call('POST', '/api/products/BIG/deliveries', {});
}

async function start(data: string) {
  const env = { ...process.env, DYEWORKS_DATA: data, DYEWORKS_DEMO: 'off', DYEWORKS_PORT: '0' };
  const child = spawn(process.execPath, ['--import', 'tsx', 'server/command-line.ts', 'serve'], {
    cwd: ROOT,
    env,
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  const url = await new Promise<string>((resolve, reject) => {
    let text = '';
    child.stdout.on('data', (chunk: Buffer) => {
      text += chunk.toString();
      const found = /http:\/\/[^\s/]+/.exec(text);
      if (found) resolve(found[0]);
    });
    child.once('exit', () => reject(new Error(`the service ended: ${text}`)));
  });
  return {
    url,
    pid: child.pid!,
    async close() {
      child.kill('SIGTERM');
      await new Promise((resolve) => child.once('exit', resolve));
    },
  };
}

/** Resident megabytes of a process, where the system tells. */
function readMemory(pid: number): number {
  try {
    return Number(/VmRSS:\s+(\d+)/.exec(readFileSync(`/proc/${pid}/status`, 'utf8'))![1]) / 1024;
  } catch {
    return Number.NaN;
  }
}

function measureFolder(folder: string): number {
  return readdirSync(folder, { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile())
    .reduce((sum, { parentPath, name }) => sum + statSync(join(parentPath, name)).size, 0);
}
