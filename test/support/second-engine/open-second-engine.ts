import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { build } from 'vite';
import { GL_WAYS } from '../../../renderer/driver.ts';
import { type LaunchedBrowser, launchBrowser } from '../../../renderer/launch-browser.ts';
import { openPageServer } from '../../../renderer/page-server.ts';
import { findBrowser, NO_SANDBOX } from '../../renderer/built-studio.ts';
import type { SecondOrder } from './page.ts';

/** Babylon.js in its own browser: the studio's browser reaches only the studio. */
export interface OpenedSecondEngine {
  /** 8-bit sRGB with coverage, rows from the bottom. */
  take(glb: Uint8Array, order: Omit<SecondOrder, 'url'>): Promise<Uint8Array>;
  close(): Promise<void>;
}

/** Bundles the engine from the installed package, and serves it to a browser like the studio's. */
export async function openSecondEngine(): Promise<OpenedSecondEngine> {
  const folder = await mkdtemp(join(tmpdir(), 'second-engine-'));
  await build({
    root: fileURLToPath(new URL('.', import.meta.url)),
    configFile: false,
    base: './',
    logLevel: 'error',
    build: { outDir: folder, emptyOutDir: true, modulePreload: false, minify: false, chunkSizeWarningLimit: 20_000 },
  });
  const server = await openPageServer(folder);
  const launched = await openPage(server.pageUrl);
  const { page } = launched;
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
      await launched.end();
      await server.close();
      await rm(folder, { recursive: true, force: true });
    },
  };
}

/** Opens GL the way the studio does: with the first driver in which the page starts. */
async function openPage(pageUrl: string): Promise<LaunchedBrowser> {
  const failures: unknown[] = [];
  for (const way of GL_WAYS) {
    const launched = await launchBrowser({
      browserPath: findBrowser(),
      noSandbox: NO_SANDBOX,
      way,
      timeoutMs: 60_000,
      host: new URL(pageUrl).host,
    });
    try {
      await launched.page.goto(pageUrl);
      await launched.page.waitForFunction('globalThis.secondEngine', { timeout: 60_000 });
      return launched;
    } catch (error) {
      failures.push(error);
      await launched.end();
    }
  }
  throw new AggregateError(failures, 'The second engine did not come up.');
}
