import { type ChildProcess, spawn } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { ROOT } from '../../server/root.ts';
import { runSoak } from './soak.ts';

// `npm run soak -- [minutes] [readers] [writers]`: 10 minutes, 200 readers and 20 writers by default, on a service of its
// own with the demo. Prints latencies and memory, and fails on any fault or loss.

const [minutes = 10, readers = 200, writers = 20] = process.argv.slice(2).map(Number);
const folder = await mkdtemp(join(tmpdir(), 'dyeworks-soak-'));
const child = spawn(process.execPath, ['server/dyeworks.mjs', 'serve'], {
  cwd: ROOT,
  env: { ...process.env, DYEWORKS_PORT: '0', DYEWORKS_DATA: folder, DYEWORKS_DEMO: 'on' },
  stdio: ['ignore', 'pipe', 'inherit'],
});
const url = await readAddress(child);
console.log(`${url}, ${folder}`);
await waitForDemo(url);

const memory: number[] = [];
const sampling = setInterval(() => memory.push(readMemoryMib(child.pid!)), 5000);
const end = performance.now() + minutes * 60_000;
const report = await runSoak({ url, readers, writers, goOn: () => performance.now() < end });
clearInterval(sampling);

console.table(report.calls);
const total = Object.values(report.calls).reduce((sum, { count }) => sum + count, 0);
console.log(`${total} calls by ${readers} readers and ${writers} writers in ${minutes} minutes`);
console.log(`memory of the service in MiB, each tenth of the time: ${pickTenths(memory).join(' ')}`);
console.log(`confirmed changes looked for again: ${report.confirmed}, lost: ${report.lost.length}`);
for (const text of [...report.lost, ...report.faults]) console.log(text);

child.kill('SIGTERM');
await new Promise((resolve) => child.once('exit', resolve));
await rm(folder, { recursive: true, force: true });
process.exitCode = report.faults.length + report.lost.length > 0 ? 1 : 0;

function readAddress(service: ChildProcess): Promise<string> {
  return new Promise((resolve, reject) => {
    let text = '';
    service.stdout!.on('data', (chunk) => {
      text += chunk;
      const found = /http:\/\/\S+?:\d+/.exec(text)?.[0];
      if (found) resolve(found);
    });
    service.once('exit', (code) => reject(new Error(`The service ended with ${code}.`)));
  });
}

/** The demo is there when every product has a schedule, and none was added for some seconds. */
async function waitForDemo(url: string): Promise<void> {
  let before = 0;
  for (;;) {
    await new Promise((resolve) => setTimeout(resolve, 5000));
    const { products } = (await (await fetch(`${url}/api/products`)).json()) as {
      products: { defaultVariant: string | null }[];
    };
    const isWhole = products.every(({ defaultVariant }) => defaultVariant !== null);
    if (isWhole && products.length > 0 && products.length === before) return;
    before = products.length;
  }
}

/** Memory of the process that its system counts as in use; Linux only, else 0. */
function readMemoryMib(pid: number): number {
  try {
    return Math.round(Number(/VmRSS:\s+(\d+)/.exec(readFileSync(`/proc/${pid}/status`, 'utf8'))?.[1] ?? 0) / 1024);
  } catch {
    return 0;
  }
}

function pickTenths(values: readonly number[]): number[] {
  if (values.length === 0) return [];
  return Array.from({ length: 10 }, (_, tenth) => values[Math.floor(((tenth + 1) * (values.length - 1)) / 10)]!);
}
