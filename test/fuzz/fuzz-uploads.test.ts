import { execFile } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { promisify } from 'node:util';
import { expect, it } from 'vitest';
import type { FuzzReport } from './fuzz-uploads.ts';

const RUN = fileURLToPath(new URL('./run.ts', import.meta.url));

// The short form of `npm run fuzz`, in a process of its own so that its memory can be measured. fast-check makes the same
// mutations for the same seed everywhere.
it('mutated models, archives, images and measurements are read, or refused with a code, within the memory', async () => {
  const args = ['--import', 'tsx', RUN, '--quiet', '--count', '180', '--seed', '7'];
  const { stdout } = await promisify(execFile)(process.execPath, args).catch((error: { stdout?: string }) => {
    if (error.stdout) return { stdout: error.stdout };
    throw error;
  });
  const report = JSON.parse(stdout) as FuzzReport & { mostMib: number };
  expect(report.faults).toEqual([]);
  expect(report.count).toBe(180);
  expect(report.peakMib).toBeLessThan(report.mostMib);
  // otherwise the test would prove nothing
  expect(report.read).toBeGreaterThan(20);
  expect(Object.keys(report.refused).length).toBeGreaterThan(5);
});
