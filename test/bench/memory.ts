import { type ChildProcess, spawn } from 'node:child_process';
import { join } from 'node:path';
import { makeStool } from '../../server/demo/stool.ts';
import { findBrowser } from '../../server/find-browser.mjs';
import { ROOT } from '../../server/root.ts';
import { NO_SANDBOX } from '../renderer/built-studio.ts';
import { listBrowserProcesses, listStudioBrowsers } from '../support/browser-processes.ts';
import { createRandom } from '../support/random.ts';
import { readRegistryModel } from '../support/registry-models.ts';
import { row } from './measure.ts';

const PICTURES = 2000;
const EVERY = 250;
const SIZE_PX = 64;
const FINISHES = 20;
/** Pictures of one product before the other one is loaded in its place. */
const RUN = 25;
/** Caches fill and programs are compiled; what is taken after that counts for the slope. */
const WARM_UP = 500;

/** Resident megabytes. */
interface Reading {
  readonly pictures: number;
  readonly service: number;
  readonly browser: number;
}

/** Memory of the service and its browser over two thousand pictures: swatches, composed and direct ones, of two products. */
export async function benchMemory(folder: string): Promise<void> {
  if (!findBrowser(process.env.DYEWORKS_BROWSER) || process.platform === 'win32') {
    console.log('\nNo browser, or no way to read its memory: memory is not measured.');
    return;
  }
  console.log(`\nMemory over ${PICTURES} pictures of ${SIZE_PX} px, resident: the service and its browser`);
  const service = await startBuilt(join(folder, 'memory'));
  try {
    const addresses = listAddresses(await fill(service.url));
    const readings: Reading[] = [];
    let since = performance.now();
    for (const [index, path] of addresses.entries()) {
      const answer = await fetch(`${service.url}${path}`);
      if (!answer.ok) throw new Error(`${path}: ${answer.status} ${await answer.text()}`);
      await answer.arrayBuffer();
      if ((index + 1) % EVERY !== 0) continue;
      const reading = read(service.child.pid!, index + 1);
      readings.push(reading);
      const pace = (performance.now() - since) / EVERY;
      row(
        `after ${reading.pictures}`,
        `${reading.service.toFixed(0)} + ${reading.browser.toFixed(0)} MB`,
        `${pace.toFixed(0)} ms each`,
      );
      since = performance.now();
    }
    const steady = readings.filter(({ pictures }) => pictures >= WARM_UP);
    const slope = (of: (reading: Reading) => number) =>
      1000 * getSlope(steady.map((each) => [each.pictures, of(each)]));
    row('service, per 1000 pictures', `${slope(({ service }) => service).toFixed(1)} MB`, 'aim: flat');
    row('browser, per 1000 pictures', `${slope(({ browser }) => browser).toFixed(1)} MB`, 'aim: flat');
  } finally {
    service.child.kill('SIGTERM');
    await new Promise((resolve) => service.child.once('exit', resolve));
  }
}

/** Megabytes of a process and of the browser it started. */
function read(pid: number, pictures: number): Reading {
  const browser = listStudioBrowsers(pid).flatMap(listBrowserProcesses);
  const sum = browser.reduce((total, { residentBytes }) => total + residentBytes, 0);
  return { pictures, service: readResident(pid), browser: sum / 1024 / 1024 };
}

function readResident(pid: number): number {
  const [own] = listBrowserProcesses(pid).filter((process) => process.pid === pid);
  return own!.residentBytes / 1024 / 1024;
}

/** Least squares. */
function getSlope(points: readonly (readonly [x: number, y: number])[]): number {
  const mean = (of: (point: readonly [number, number]) => number) =>
    points.reduce((sum, point) => sum + of(point), 0) / points.length;
  const [x0, y0] = [mean(([x]) => x), mean(([, y]) => y)];
  return mean(([x, y]) => (x - x0) * (y - y0)) / mean(([x]) => (x - x0) ** 2);
}

interface Product {
  readonly code: string;
  readonly slots: readonly string[];
}

/** Stores twenty finishes and two products that take all of them. */
async function fill(url: string): Promise<readonly Product[]> {
  const call = async (method: string, path: string, body: unknown, type = 'application/json') => {
    const answer = await fetch(url + path, {
      method,
      body: body instanceof Uint8Array ? (body as BodyInit) : JSON.stringify(body),
      headers: { 'content-type': type },
    });
    if (!answer.ok) throw new Error(`${method} ${path}: ${answer.status} ${await answer.text()}`);
    return answer.json();
  };
  const random = createRandom(7);
  const level = () => Math.floor(random.next() * 200 + 28).toString(16);
  const codes = Array.from({ length: FINISHES }, (_, n) => `F${n}`);
  for (const code of codes) {
    const colour = { hex: `#${level()}${level()}${level()}` };
    await call('PUT', `/api/finishes/${code}`, { name: `Finish ${code}`, family: 'paint', colour });
  }
  await call('PUT', '/api/lines/LINE', { name: 'Line', range: codes.map((finish) => ({ finish })) });
  const models = { STOOL: await makeStool(), VISOR: readRegistryModel('oculus-go/none.glb') };
  const products: Product[] = [];
  for (const [code, model] of Object.entries(models)) {
    await call('POST', '/api/products', { code, name: code, line: 'LINE' });
    const { slots } = await call('PUT', `/api/products/${code}/model`, model, 'model/gltf-binary');
    products.push({ code, slots: slots.map(({ slot }: { slot: string }) => slot) });
  }
  return products;
}

/** Two of five are swatches, two composed, one taken directly; no two are the same. */
function listAddresses(products: readonly Product[]): readonly string[] {
  const random = createRandom(11);
  const pick = (limit: number) => Math.floor(random.next() * limit);
  const kinds = ['sphere', 'panel', 'cutting'];
  return Array.from({ length: PICTURES }, (_, n) => {
    if (n % 5 < 2) {
      const swatch = Math.floor(n / 5) * 2 + (n % 5);
      const sizePx = SIZE_PX + Math.floor(swatch / (FINISHES * kinds.length));
      return `/api/finishes/F${swatch % FINISHES}/swatch.png?kind=${kinds[Math.floor(swatch / FINISHES) % 3]}&size=${sizePx}`;
    }
    const { code, slots } = products[Math.floor(n / RUN) % products.length]!;
    const choices = slots.map((slot) => `choice=${slot}:F${pick(FINISHES)}`).join('&');
    return `/api/products/${code}/picture.png?size=${SIZE_PX}&${choices}${n % 5 === 4 ? '&direct=1' : ''}`;
  });
}

/** The built service, as `npm start` runs it, in a process of its own. */
async function startBuilt(dataFolder: string): Promise<{ readonly child: ChildProcess; readonly url: string }> {
  const child = spawn(process.execPath, ['.build/server/dyeworks.mjs', 'serve'], {
    cwd: ROOT,
    // a group of its own, by which its memory is found
    detached: true,
    stdio: ['ignore', 'pipe', 'inherit'],
    env: {
      ...process.env,
      DYEWORKS_DATA: dataFolder,
      DYEWORKS_DEMO: 'off',
      DYEWORKS_PORT: '0',
      DYEWORKS_SANDBOX: NO_SANDBOX ? 'off' : 'auto',
    },
  });
  const url = await new Promise<string>((resolve, reject) => {
    child.once('exit', (code) => reject(new Error(`the service ended with ${code}`)));
    child.stdout!.on('data', (text) => {
      const address = /https?:\/\/\S+/.exec(String(text));
      if (address) resolve(address[0].replace(/\/$/, ''));
    });
  });
  return { child, url };
}
