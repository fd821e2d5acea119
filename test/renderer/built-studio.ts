import { existsSync, mkdtempSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { openSession } from '../../renderer/studio-session.ts';
import { findNewest } from '../../server/built-parts.mjs';
import { findBrowser as findAnyBrowser } from '../../server/find-browser.mjs';
import { BUILT, ROOT } from '../../server/root.ts';
import { once } from '../support/once.ts';

/**
 * Folder of a built part, if it is no older than its sources.
 * @param sources files and folders of the project
 */
export function findBuilt(part: 'studio' | 'web', sources: readonly string[]): string | null {
  const index = join(BUILT, part, 'index.html');
  if (!existsSync(index) || statSync(index).mtimeMs < findNewest(sources.map((path) => join(ROOT, path)))) return null;
  return join(BUILT, part);
}

/** Folder of the built studio page: the existing build, or else a new one for this process. */
export const buildStudio = once(async () => {
  const built = findBuilt('studio', ['renderer', 'server/core', 'package-lock.json']);
  if (built !== null) return built;
  const fresh = mkdtempSync(join(tmpdir(), 'studio-page-'));
  process.once('exit', () => rmSync(fresh, { recursive: true, force: true }));
  const { build } = await import('vite');
  await build({
    configFile: join(ROOT, 'renderer/page/vite.config.ts'),
    logLevel: 'error',
    build: { outDir: fresh, emptyOutDir: true },
  });
  return fresh;
});

/** The browser named in the environment, or else the system's. */
export function findBrowser(): string {
  const found = findAnyBrowser(process.env.DYEWORKS_BROWSER);
  if (found) return found;
  throw new Error('No browser for the tests: set DYEWORKS_BROWSER or install chromium.');
}

/** Tests run as root in many kinds of containers, and some leave no sign of it. Root therefore has no sandbox. */
export const NO_SANDBOX = process.getuid?.() === 0;

/** The studio in a browser of its own. The caller ends it. */
export async function openTestSession() {
  return openSession({
    browserPath: findBrowser(),
    studioFolder: await buildStudio(),
    noSandbox: NO_SANDBOX,
    launchTimeoutMs: 60_000,
  });
}
