import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vitest/config';

/** These keep nothing between files, so that a worker loads each module once. */
const WITHOUT_BROWSER = ['server', 'db', 'web', 'architecture'].map((room) => `test/${room}/**/*.test.ts`);

export default defineConfig({
  test: {
    root: fileURLToPath(new URL('..', import.meta.url)),
    pool: 'forks',
    maxWorkers: 2,
    // pictures in software GL on a shared machine: a limit against hanging, never a measure
    testTimeout: 180_000,
    hookTimeout: 180_000,
    projects: [
      { extends: true, test: { name: 'units', include: WITHOUT_BROWSER, isolate: false } },
      { extends: true, test: { name: 'browser', include: ['test/**/*.test.ts'], exclude: WITHOUT_BROWSER } },
    ],
  },
});
