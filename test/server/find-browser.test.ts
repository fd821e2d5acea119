import { chmodSync, mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, expect, it, vi } from 'vitest';
import { findBrowser } from '../../server/find-browser.mjs';

const folder = mkdtempSync(join(tmpdir(), 'dyeworks-browser-'));
afterEach(() => {
  vi.unstubAllEnvs();
  rmSync(folder, { recursive: true, force: true });
});

function makeExecutable(...path: string[]): string {
  const file = join(folder, ...path);
  mkdirSync(join(file, '..'), { recursive: true });
  writeFileSync(file, '#!/bin/sh\n');
  chmodSync(file, 0o755);
  return file;
}

it('takes what was asked for, else the system’s, else the newest download, past partial ones', () => {
  vi.stubEnv('PUPPETEER_CACHE_DIR', join(folder, 'cache'));
  vi.stubEnv('PATH', join(folder, 'bin'));
  expect(findBrowser('/opt/mine')).toBe('/opt/mine');
  if (process.platform === 'linux') expect(findBrowser(null)).toBeNull();
  makeExecutable('cache', 'chrome', 'linux-99.0.1', 'chrome-linux64', 'chrome');
  const newest = makeExecutable('cache', 'chrome', 'linux-127.0.2', 'chrome-linux64', 'chrome');
  // an interrupted download leaves a file where folders stand
  writeFileSync(join(folder, 'cache', 'chrome', '128.0.0-chrome-linux64.zip'), 'partial');
  writeFileSync(join(folder, 'cache', 'chrome', 'linux-127.0.2', '.metadata'), '{}');
  if (process.platform === 'linux') expect(findBrowser(null)).toBe(newest);
  const system = makeExecutable('bin', 'chromium');
  expect(findBrowser(null)).toBe(system);
});
