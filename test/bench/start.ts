import { spawn } from 'node:child_process';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { ROOT } from '../../server/root.ts';
import { alternate, row, show } from './measure.ts';

/** How soon the service listens, beside Node's own start. */
export async function benchStart(): Promise<void> {
  console.log('\nStart on a set-up machine');
  const folder = await mkdtemp(join(tmpdir(), 'dyeworks-bench-'));
  const env = { ...process.env, DYEWORKS_DATA: folder, DYEWORKS_DEMO: 'off', DYEWORKS_PORT: '0' };
  const times = await alternate(5, {
    node: () => untilEnd(spawn(process.execPath, ['-e', '0'])),
    setUp: () => untilEnd(spawn(process.execPath, ['server/set-up.mjs', 'serve'], { cwd: ROOT })),
    listen: () => untilListening(spawn(process.execPath, ['.build/server/dyeworks.mjs', 'serve'], { cwd: ROOT, env })),
  });
  row('Node’s own start', show(times.node));
  row('set-up with nothing missing', show(times.setUp), 'aim < 500 ms');
  row('until the service listens', show(times.listen));
  row('  beyond Node’s own start', `${(times.listen.median - times.node.median).toFixed(0)} ms`, 'aim ≤ 1000 ms');
  await rm(folder, { recursive: true, force: true });
}

function untilEnd(child: ReturnType<typeof spawn>): Promise<void> {
  return new Promise((resolve, reject) => {
    child.once('exit', () => resolve());
    child.once('error', reject);
  });
}

function untilListening(child: ReturnType<typeof spawn>): Promise<void> {
  return new Promise((resolve, reject) => {
    child.once('error', reject);
    child.once('exit', (code) => reject(new Error(`the service ended with ${code}`)));
    child.stdout!.on('data', (text) => {
      if (!String(text).includes('Dyeworks is at')) return;
      child.removeAllListeners('exit');
      child.kill('SIGKILL');
      resolve();
    });
  });
}
