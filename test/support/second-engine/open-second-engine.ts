import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Browser } from 'puppeteer';
import { build } from 'vite';
import { openPageServer } from '../../../renderer/page-server.ts';
import type { SecondOrder } from './page.ts';

/** Babylon.js in a tab of a browser that is there. */
export interface OpenedSecondEngine {
  /** 8-bit sRGB with coverage, rows from the bottom. */
  take(glb: Uint8Array, order: Omit<SecondOrder, 'url'>): Promise<Uint8Array>;
  close(): Promise<void>;
}

/** Bundles the engine from the installed package and serves it to that browser alone. */
export async function openSecondEngine(browser: Browser): Promise<OpenedSecondEngine> {
  const folder = await mkdtemp(join(tmpdir(), 'second-engine-'));
  await build({
    root: fileURLToPath(new URL('.', import.meta.url)),
    configFile: false,
    base: './',
    logLevel: 'error',
    build: { outDir: folder, emptyOutDir: true, modulePreload: false, minify: false, chunkSizeWarningLimit: 20_000 },
  });
  const server = await openPageServer(folder);
  const page = await browser.newPage();
  await page.goto(server.pageUrl);
  // a large bundle, read beside other tests on a slow machine
  await page.waitForFunction('globalThis.secondEngine', { timeout: 120_000 });
  return {
    async take(glb, order) {
      const offer = server.offer({ bytes: glb });
      try {
        const bytes = await page.evaluate((given) => globalThis.secondEngine!.take(given), {
          ...order,
          url: offer.url,
        });
        return Uint8Array.from(bytes);
      } finally {
        offer.withdraw();
      }
    },
    async close() {
      await page.close();
      await server.close();
      await rm(folder, { recursive: true, force: true });
    },
  };
}
