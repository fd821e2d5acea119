import { existsSync, readFileSync, statSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';

/** The project's folder, or that of the installed package: the nearest one above with a `package.json`. */
export const ROOT = findRoot(dirname(fileURLToPath(import.meta.url)));

/** Folder of the built parts (`server`, `studio`, `web`): `.build` in a checkout, the package itself where it is installed. */
export const BUILT = existsSync(join(ROOT, 'server', 'set-up.mjs')) ? join(ROOT, '.build') : ROOT;

/** Whether this code runs from the bundle, which starts faster than the sources. */
const BUNDLED = import.meta.url.endsWith('.mjs');

/** Which build of the program this is: a bundle has the time when it was made, sources may change with every start. */
export const BUILD = String(BUNDLED ? statSync(fileURLToPath(import.meta.url)).mtimeMs : Date.now());

/** Entries of the worker threads: sources, or bundles if this code is bundled. */
export const WORKERS = {
  models: findWorker('server/gltf/worker/worker.mjs', 'gltf-worker.mjs'),
  imports: findWorker('server/import/worker/worker.mjs', 'import-worker.mjs'),
  planning: findWorker('server/planning/worker/worker.mjs', 'planning-worker.mjs'),
  pixels: findWorker('renderer/pixels/worker/worker.mjs', 'pixel-worker.mjs'),
  demo: findWorker('server/demo/worker.mjs', 'demo-worker.mjs'),
} as const;

function findWorker(source: string, bundle: string): URL {
  return pathToFileURL(BUNDLED ? join(BUILT, 'server', bundle) : join(ROOT, source));
}

function findRoot(folder: string): string {
  return existsSync(join(folder, 'package.json')) ? folder : findRoot(dirname(folder));
}

/** Version of the program. */
export function readVersion(): string {
  return (JSON.parse(readFileSync(join(ROOT, 'package.json'), 'utf8')) as { version: string }).version;
}
