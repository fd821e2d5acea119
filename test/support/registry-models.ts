import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';

const require = createRequire(import.meta.url);
const ROOT = join(dirname(require.resolve('@webxr-input-profiles/assets/package.json')), 'dist', 'profiles');

/** A real model of the registry package `@webxr-input-profiles/assets` (MIT), such as `oculus-go/left.glb`. */
export function readRegistryModel(path: string): Buffer {
  return readFileSync(join(ROOT, path));
}
