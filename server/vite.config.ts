import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vite';

const at = (path: string) => fileURLToPath(new URL(path, import.meta.url));
const { dependencies, optionalDependencies } = JSON.parse(readFileSync(at('../package.json'), 'utf8')) as Record<
  'dependencies' | 'optionalDependencies',
  Record<string, string>
>;

/** Libraries of many small files, which are slow to load one by one. The bundle contains them and their dependencies. */
const BUNDLED = ['typebox', 'kysely', 'colorjs.io', 'fastify', '@fastify/static', '@fastify/swagger', 'ajv'];

/**
 * Bundles the service, the command line and the worker threads, for `npm start` and for the package. Run from its sources, the
 * service takes a second and a half to listen, mostly to load some hundred small files. The other dependencies stay outside:
 * many have native code or data files.
 */
export default defineConfig({
  root: at('.'),
  logLevel: 'warn',
  ssr: {
    noExternal: true,
    external: Object.keys({ ...dependencies, ...optionalDependencies }).filter((name) => !BUNDLED.includes(name)),
  },
  build: {
    ssr: true,
    target: 'node20',
    outDir: at('../.build/server'),
    emptyOutDir: true,
    minify: false,
    rolldownOptions: {
      input: {
        dyeworks: at('./command-line.ts'),
        'gltf-worker': at('./gltf/worker/worker.ts'),
        'pixel-worker': at('../renderer/pixels/worker/worker.ts'),
        'planning-worker': at('./planning/worker/worker.ts'),
        'import-worker': at('./import/worker/worker.ts'),
        'demo-worker': at('./demo/worker.ts'),
      },
      output: { entryFileNames: '[name].mjs', chunkFileNames: 'chunks/[name]-[hash].mjs' },
    },
  },
});
