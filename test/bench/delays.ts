import { monitorEventLoopDelay } from 'node:perf_hooks';
import { Worker } from 'node:worker_threads';
import { addPart, createDocument } from '../support/build-model.ts';
import { createIo } from '../support/gltf-io.ts';
import { makeHardScope } from '../support/hard-scope.ts';
import { GLB } from '../support/job.ts';
import { startService, type TestService } from '../support/start-service.ts';
import { row } from './measure.ts';

const SLOTS = 12;
const FINISHES = 40;
/** Finishes of the library beside those of the line. */
const LIBRARY = 20_000;
const PRODUCTS = 1_000;
/** A schedule near the limit: 27 × 27 × 27 rows. */
const CUBE = 27;

/** Calls from another thread, so that the client's own work delays nothing. */
const CLIENT = `
const { parentPort } = require('node:worker_threads');
parentPort.on('message', async ({ url, method, body, headers, leaveAfterMs }) => {
  const signal = leaveAfterMs === undefined ? undefined : AbortSignal.timeout(leaveAfterMs);
  try {
    const answer = await fetch(url, { method, body, headers, signal });
    const bytes = (await answer.arrayBuffer()).byteLength;
    parentPort.postMessage({ status: answer.status, bytes });
  } catch (error) { parentPort.postMessage({ status: 0, bytes: 0 }); }
});`;

/** The longest time that the service's own thread is busy without a pause, for each call that works hard. */
export async function benchDelays(): Promise<void> {
  const service = await startService({}, undefined, { engines: 'own' });
  const client = new Worker(CLIENT, { eval: true });
  const ask = async (method: string, path: string, body?: string, leaveAfterMs?: number) => {
    const type = path.startsWith('/api/finishes/import') ? 'text/csv' : 'application/json';
    const headers = body === undefined ? {} : { 'content-type': type };
    client.postMessage({ url: service.url + path, method, body, headers, leaveAfterMs });
    return new Promise<{ status: number; bytes: number }>((resolve) => client.once('message', resolve));
  };
  const measure = async (title: string, ...call: Parameters<typeof ask>) => {
    const delays = monitorEventLoopDelay({ resolution: 1 });
    await new Promise((resolve) => setTimeout(resolve, 100));
    delays.enable();
    await new Promise((resolve) => setTimeout(resolve, 20));
    const begun = performance.now();
    const { status, bytes } = await ask(...call);
    const took = performance.now() - begun;
    await new Promise((resolve) => setTimeout(resolve, 20));
    delays.disable();
    const size = bytes > 100_000 ? `, ${(bytes / 1e6).toFixed(1)} MB` : '';
    row(`${title} (${status}${size})`, `${(delays.max / 1e6).toFixed(0)} ms of ${took.toFixed(0)} ms`);
  };
  try {
    console.log('\nLongest delay of the event loop during a call, and the time of the call');
    const cubeSlots = await fill(service);
    const hard = '/api/products/HARD';
    await measure('nothing', 'GET', '/health');
    await measure('count, 12 × 40, half of the pairs barred', 'GET', `${hard}/schedule/count`);
    await measure('count with explanations', 'GET', `${hard}/schedule/count?explain=1`);
    const pairs = JSON.stringify({ kind: 'pairs', preview: true });
    await measure('check set of pairs', 'POST', `${hard}/schedule/check-set`, pairs);
    await measure('check set, caller leaves after 1 s', 'POST', `${hard}/schedule/check-set`, pairs, 1000);
    const keys = Array.from({ length: SLOTS }, (_, i) => `p${i}`);
    const choice = keys.map((key, i) => `choice=${key}:F${(i * 7 + 1) % FINISHES}`).join('&');
    await measure('forbidden choice, explained', 'GET', `${hard}/picture.json?${choice}`);
    await measure('expansion over its limit', 'POST', `${hard}/schedule/expand`, '{}');
    const cube = '/api/products/CUBE';
    await measure('expansion to 19,683 rows', 'POST', `${cube}/schedule/expand`, '{}');
    await measure('schedule of 19,683 rows, read', 'GET', `${cube}/schedule`);
    const { body: schedule } = await service.call('GET', `${cube}/schedule`);
    const { findings: _, ...rows } = schedule;
    rows.variants[0].name = 'Renamed';
    await measure('schedule of 19,683 rows, written', 'PUT', `${cube}/schedule`, JSON.stringify(rows));
    await measure('readiness with 19,683 rows', 'GET', `${cube}/readiness`);
    await measure(`list of ${LIBRARY + FINISHES} finishes, first`, 'GET', '/api/finishes');
    await measure(`list of ${LIBRARY + FINISHES} finishes, again`, 'GET', '/api/finishes');
    await measure('nearest finishes', 'GET', '/api/finishes?near=%232f5d73');
    await measure('nearest finishes, 10,000 of them', 'GET', '/api/finishes?near=%232f5d73&limit=10000');
    await measure(`import of ${LIBRARY} finishes, all unchanged`, 'POST', '/api/finishes/import', makeLibrary());
    await measure(`import of ${LIBRARY} finishes, all changed`, 'POST', '/api/finishes/import', makeLibrary('Other'));
    const finish = { name: 'Changed', family: 'paint', colour: { hex: '#123456' } };
    await measure('change of one finish', 'PUT', '/api/finishes/L1', JSON.stringify(finish));
    const range = Array.from({ length: LIBRARY }, (_, i) => ({ finish: `L${i}` }));
    await measure(
      `line of ${LIBRARY} finishes, written`,
      'PUT',
      '/api/lines/BIG',
      JSON.stringify({ name: 'Big', range }),
    );
    await measure(`line of ${LIBRARY} finishes, renamed`, 'PUT', '/api/lines/BIG', JSON.stringify({ name: 'Bigger' }));
    await measure(`line of ${LIBRARY} finishes, read`, 'GET', '/api/lines/BIG');
    const [slot] = cubeSlots;
    const options = JSON.stringify({ options: { finishes: range.slice(0, 2).map(({ finish }) => finish) } });
    await measure('options of a slot', 'PATCH', `/api/products/CUBE/slots/${slot}`, options);
    await measure('indistinguishable pairs', 'GET', '/api/finishes/indistinguishable?deltaE=1');
    await measure(`list of ${PRODUCTS} products, first`, 'GET', '/api/products');
    await measure(`list of ${PRODUCTS} products, again`, 'GET', '/api/products');
    await measure('30 MB of [', 'PUT', `${cube}/schedule`, '['.repeat(30_000_000));
    await measure('8 MB of [', 'PUT', `${cube}/schedule`, '['.repeat(8_000_000));
    await measure('8 MB of []', 'PUT', `${cube}/schedule`, `[${'[],'.repeat(2_600_000)}[]]`);
  } finally {
    await client.terminate();
    await service.close();
  }
}

/** @returns the slots of CUBE */
async function fill(service: TestService): Promise<string[]> {
  const need = async (method: string, path: string, body: unknown, headers?: Record<string, string>) => {
    const answer = await service.call(method, path, body, headers);
    if (answer.status >= 300)
      throw new Error(`${method} ${path}: ${answer.status} ${JSON.stringify(answer.body).slice(0, 300)}`);
    return answer.body;
  };
  const { line } = makeHardScope({ slots: SLOTS, finishes: FINISHES, tags: 7 });
  for (let i = 0; i < FINISHES; i++) {
    await need('PUT', `/api/finishes/F${i}`, {
      name: `Finish ${i}`,
      family: 'paint',
      colour: { hex: '#808080' },
      tags: [`t${i % 7}`],
    });
  }
  const { line: code, rules, ...rest } = line;
  await need('PUT', `/api/lines/${code}`, rest);
  await need('PUT', `/api/lines/${code}/rules`, { rules });
  const hard = await addProduct('HARD', SLOTS, code);
  for (const slot of hard) await need('PATCH', `/api/products/HARD/slots/${slot}`, { position: slot });
  await need('PUT', '/api/lines/CUBE', {
    name: 'Cube',
    range: line.range.slice(0, CUBE).map(({ finish }) => ({ finish })),
  });
  const cubeSlots = await addProduct('CUBE', 3, 'CUBE');
  for (let i = 0; i < PRODUCTS; i++)
    await need('POST', '/api/products', { code: `P${i}`, name: `Product ${i}`, line: 'CUBE' });
  await need('POST', '/api/finishes/import', makeLibrary(), { 'content-type': 'text/csv' });
  return cubeSlots;

  async function addProduct(product: string, slots: number, line: string): Promise<string[]> {
    const document = createDocument();
    for (let i = 0; i < slots; i++) addPart(document, { name: `p${i}`, material: document.createMaterial(`p${i}`) });
    await need('POST', '/api/products', { code: product, name: product, line });
    const received = await need(
      'PUT',
      `/api/products/${product}/model`,
      await (await createIo()).writeBinary(document),
      GLB,
    );
    return received.slots.map(({ slot }: { slot: string }) => slot);
  }
}

/** The library as a file. */
function makeLibrary(name = 'Library'): string {
  const rows = Array.from({ length: LIBRARY }, (_, i) => `L${i},${name} ${i},paint,${hex(i)}`);
  return `code,name,family,hex\n${rows.join('\n')}\n`;
}

const hex = (i: number) => `#${((i * 2_654_435) % 0x1000000).toString(16).padStart(6, '0')}`;
