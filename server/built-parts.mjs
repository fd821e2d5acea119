// What is built, each part into a folder of its own under `.build`. Plain script, so that set-up can use it.
import { readdirSync, statSync } from 'node:fs';
import { join } from 'node:path';

/** @type {Readonly<Record<string, string>>} name of the folder, and the configuration that builds it */
export const BUILT_PARTS = {
  server: 'server/vite.config.ts',
  studio: 'renderer/page/vite.config.ts',
  web: 'web/vite.config.ts',
  viewer: 'web/viewer/vite.config.ts',
};

/**
 * When the newest of these files and folders was changed, ms. A file that was removed changes its folder.
 * @param {readonly string[]} paths
 * @returns {number}
 */
export function findNewest(paths) {
  return Math.max(
    ...paths.map((path) => {
      const stat = statSync(path);
      if (!stat.isDirectory()) return stat.mtimeMs;
      return Math.max(stat.mtimeMs, findNewest(readdirSync(path).map((name) => join(path, name))));
    }),
  );
}
