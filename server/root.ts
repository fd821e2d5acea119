import { existsSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';

/** The project's folder, whether this runs from the sources or from the bundle in `.build/server`. */
export const ROOT = findRoot(dirname(fileURLToPath(import.meta.url)));

function findRoot(folder: string): string {
  return existsSync(join(folder, 'package.json')) ? folder : findRoot(dirname(folder));
}

/** Whether this runs from the bundle: the same code, in few files and without a loader, so that it starts at once. */
const BUNDLED = import.meta.url.startsWith(pathToFileURL(join(ROOT, '.build', 'server')).href);

/** Entry of a worker thread: its source, or its bundle when this is one. */
export function findWorker(source: string, bundle: string): URL {
  return pathToFileURL(join(ROOT, BUNDLED ? join('.build', 'server', bundle) : source));
}
