import { type ChildProcess, spawn } from 'node:child_process';
import { join } from 'node:path';
import { makeStool } from '../../server/demo/stool.ts';
import { findBrowser } from '../../server/find-browser.mjs';
import { ROOT } from '../../server/root.ts';
import { NO_SANDBOX } from '../renderer/built-studio.ts';
import { listBrowserProcesses, listStudioBrowsers } from '../support/browser-processes.ts';
import { type Glb, makeGlb, readGlb } from '../support/glb.ts';
import { createRandom } from '../support/random.ts';
import { readRegistryModel } from '../support/registry-models.ts';
import { row, summarise } from './measure.ts';

/** Pictures taken, and products stored. */
const TIMES = 2000;
const EVERY = 250;
/** What is loaded at the moment makes readings differ by a tenth: of these, in between, the median counts. */
const READ_EVERY = 5;
const SIZE_PX = 64;
const FINISHES = 20;
/** Pictures of one product before the other one is loaded in its place. */
const RUN = 25;
/** Caches fill and programs are compiled; what is taken after that counts for the slope. */
const WARM_UP = 500;

/** Resident megabytes; what several processes share counts in each. */
interface Reading {
  readonly done: number;
  readonly service: number;
  /** The process that draws. */
  readonly graphics: number;
  /** All others of the browser. */
  readonly others: number;
}

/** Memory of the service and its browser over two thousand pictures: swatches, composed and direct ones, of two products. */
export async function benchMemory(folder: string): Promise<void> {
  console.log(`\nMemory over ${TIMES} pictures of ${SIZE_PX} px, resident: the service and its browser`);
  await watch(join(folder, 'pictures'), async (url) => {
    const addresses = listAddresses(await fill(url));
    return async (n) => void (await ask(url, 'GET', addresses[n]!));
  });
}

/** The same over two thousand products that come and go. */
export async function benchProducts(folder: string): Promise<void> {
  console.log(`\nMemory over ${TIMES} products that are stored, delivered, pictured and deleted, no two of one model`);
  await watch(join(folder, 'products'), async (url) => {
    const models = [await makeStool(), readRegistryModel('oculus-go/none.glb')].map(readGlb);
    const codes = await putFinishes(url, 2);
    return (n) => passThrough(url, models[n % models.length]!, codes, n);
  });
}

/** Does a thing {@link TIMES} times on a service of its own, and prints what memory that takes. */
async function watch(
  dataFolder: string,
  prepare: (url: string) => Promise<(n: number) => Promise<void>>,
): Promise<void> {
  if (!findBrowser(process.env.DYEWORKS_BROWSER) || process.platform === 'win32') {
    console.log('No browser, or no way to read its memory: memory is not measured.');
    return;
  }
  const service = await startBuilt(dataFolder);
  try {
    const work = await prepare(service.url);
    const readings: Reading[] = [];
    let between: Reading[] = [];
    let since = performance.now();
    for (let n = 0; n < TIMES; n++) {
      await work(n);
      if ((n + 1) % READ_EVERY === 0) between.push(read(service.child.pid!, n + 1));
      if ((n + 1) % EVERY !== 0) continue;
      const reading = takeMedian(between, n + 1);
      readings.push(reading);
      const figures = [reading.service, reading.graphics, reading.others].map((megabytes) => megabytes.toFixed(0));
      const pace = (performance.now() - since) / EVERY;
      row(
        `after ${reading.done}: service + graphics + others`,
        `${figures.join(' + ')} MB`,
        `${pace.toFixed(0)} ms each`,
      );
      between = [];
      since = performance.now();
    }
    const steady = readings.filter(({ done }) => done > WARM_UP);
    const slope = (of: (reading: Reading) => number) =>
      `${(1000 * getSlope(steady.map((each) => [each.done, of(each)]))).toFixed(1)} MB`;
    row(
      'service, per 1000',
      slope(({ service }) => service),
      'aim: flat',
    );
    row(
      'browser, per 1000',
      slope(({ graphics, others }) => graphics + others),
      'aim: flat',
    );
  } finally {
    service.child.kill('SIGTERM');
    await new Promise((resolve) => service.child.once('exit', resolve));
  }
}

/** A product's whole way: stored, scheduled, delivered, pictured, deleted. */
async function passThrough(url: string, model: Glb, codes: readonly string[], n: number): Promise<void> {
  const path = `/api/products/P${n}`;
  // another model each time, so that nothing of it is known yet
  const json = { ...model.json, asset: { ...model.json.asset, extras: { n } } };
  await ask(url, 'POST', '/api/products', { code: `P${n}`, name: `Product ${n}` });
  const { slots } = await ask(url, 'PUT', `${path}/model`, makeGlb(json, model.bin), 'model/gltf-binary');
  const variants = codes.map((_, at) => ({
    code: `V${at}`,
    name: `Variant ${at}`,
    choices: Object.fromEntries(
      slots.map(({ slot }: { slot: string }, k: number) => [slot, codes[(at + k) % codes.length]]),
    ),
  }));
  await ask(url, 'PUT', `${path}/schedule`, { default: 'V0', variants });
  await ask(url, 'POST', `${path}/deliveries`, {});
  await ask(url, 'GET', `${path}/pictures/V1.png?size=${SIZE_PX}`);
  await ask(url, 'DELETE', path);
}

/** The answer as JSON, or as bytes where it is none. */
async function ask(url: string, method: string, path: string, body?: unknown, type = 'application/json') {
  const answer = await fetch(url + path, {
    method,
    ...(body !== undefined && {
      body: body instanceof Uint8Array ? (body as BodyInit) : JSON.stringify(body),
      headers: { 'content-type': type },
    }),
  });
  if (!answer.ok) throw new Error(`${method} ${path}: ${answer.status} ${await answer.text()}`);
  return /json/.test(answer.headers.get('content-type') ?? '') ? answer.json() : answer.arrayBuffer();
}

/** Megabytes of a process and of the browser it started. */
function read(pid: number, done: number): Reading {
  const browser = listStudioBrowsers(pid).flatMap(listBrowserProcesses);
  const sum = (processes: typeof browser) =>
    processes.reduce((total, { residentBytes }) => total + residentBytes, 0) / 1024 / 1024;
  return {
    done,
    service: readResident(pid),
    graphics: sum(browser.filter(({ kind }) => kind === 'gpu-process')),
    others: sum(browser.filter(({ kind }) => kind !== 'gpu-process')),
  };
}

function takeMedian(readings: readonly Reading[], done: number): Reading {
  const median = (of: (reading: Reading) => number) => summarise(readings.map(of)).median;
  return {
    done,
    service: median(({ service }) => service),
    graphics: median(({ graphics }) => graphics),
    others: median(({ others }) => others),
  };
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

/** Stores plain finishes, and a line of them. */
async function putFinishes(url: string, count: number): Promise<readonly string[]> {
  const random = createRandom(7);
  const level = () => Math.floor(random.next() * 200 + 28).toString(16);
  const codes = Array.from({ length: count }, (_, n) => `F${n}`);
  for (const code of codes) {
    const colour = { hex: `#${level()}${level()}${level()}` };
    await ask(url, 'PUT', `/api/finishes/${code}`, { name: `Finish ${code}`, family: 'paint', colour });
  }
  await ask(url, 'PUT', '/api/lines/LINE', { name: 'Line', range: codes.map((finish) => ({ finish })) });
  return codes;
}

/** Stores twenty finishes and two products that take all of them. */
async function fill(url: string): Promise<readonly Product[]> {
  await putFinishes(url, FINISHES);
  const models = { STOOL: await makeStool(), VISOR: readRegistryModel('oculus-go/none.glb') };
  const products: Product[] = [];
  for (const [code, model] of Object.entries(models)) {
    await ask(url, 'POST', '/api/products', { code, name: code, line: 'LINE' });
    const { slots } = await ask(url, 'PUT', `/api/products/${code}/model`, model, 'model/gltf-binary');
    products.push({ code, slots: slots.map(({ slot }: { slot: string }) => slot) });
  }
  return products;
}

/** Two of five are swatches, two composed, one taken directly; no two are the same. */
function listAddresses(products: readonly Product[]): readonly string[] {
  const random = createRandom(11);
  const pick = (limit: number) => Math.floor(random.next() * limit);
  const kinds = ['sphere', 'panel', 'cutting'];
  return Array.from({ length: TIMES }, (_, n) => {
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
