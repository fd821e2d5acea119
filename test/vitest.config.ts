import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    root: fileURLToPath(new URL('..', import.meta.url)),
    include: ['test/**/*.test.ts'],
    pool: 'forks',
    maxWorkers: 2,
    // pictures in software GL on a shared machine: a limit against hanging, never a measure
    testTimeout: 180_000,
    hookTimeout: 180_000,
  },
});
