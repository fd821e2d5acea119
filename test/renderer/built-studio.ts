import { existsSync, mkdtempSync, readdirSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { findBrowser as findAnyBrowser } from '../../server/find-browser.mjs';

const ROOT = fileURLToPath(new URL('../..', import.meta.url));

let folder: Promise<string> | undefined;

/**
 * Folder of the built studio page: the existing build if it is no older than its sources, or else a new one for this
 * process.
 */
export function buildStudio(): Promise<string> {
  folder ??= findOrBuild();
  return folder;
}

async function findOrBuild(): Promise<string> {
  const built = join(ROOT, '.build/studio');
  if (
    existsSync(join(built, 'index.html')) &&
    statSync(join(built, 'index.html')).mtimeMs >= findNewest(['renderer', 'server/core', 'package-lock.json'])
  ) {
    return built;
  }
  const fresh = mkdtempSync(join(tmpdir(), 'studio-page-'));
  process.once('exit', () => rmSync(fresh, { recursive: true, force: true }));
  const { build } = await import('vite');
  await build({
    configFile: join(ROOT, 'renderer/page/vite.config.ts'),
    logLevel: 'error',
    build: { outDir: fresh, emptyOutDir: true },
  });
  return fresh;
}

/** The browser named in the environment, or else the system's. */
export function findBrowser(): string {
  const found = findAnyBrowser(process.env.DYEWORKS_BROWSER);
  if (found) return found;
  throw new Error('No browser for the tests: set DYEWORKS_BROWSER or install chromium.');
}

/** Tests run as root in many kinds of containers, and some leave no sign of it. Root therefore has no sandbox. */
export const NO_SANDBOX = process.getuid?.() === 0;

/** When the newest of these files and folders of the project was changed, ms. */
export function findNewest(paths: readonly string[]): number {
  return Math.max(
    ...paths.flatMap((path) => {
      const full = join(ROOT, path);
      const { mtimeMs } = statSync(full);
      if (!statSync(full).isDirectory()) return [mtimeMs];
      return readdirSync(full, { recursive: true, withFileTypes: true })
        .filter((entry) => entry.isFile())
        .map((entry) => statSync(join(entry.parentPath, entry.name)).mtimeMs);
    }),
  );
}
