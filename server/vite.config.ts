import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vite';

const at = (path: string) => fileURLToPath(new URL(path, import.meta.url));
const { dependencies, optionalDependencies } = JSON.parse(readFileSync(at('../package.json'), 'utf8')) as Record<
  'dependencies' | 'optionalDependencies',
  Record<string, string>
>;

/** Libraries of many small files, which are slow to load one by one. Theirs come into the bundle with them. */
const BUNDLED = ['typebox', 'kysely', 'colorjs.io', 'fastify', '@fastify/static', '@fastify/swagger', 'ajv'];

/**
 * Bundles the service, the command line and the worker threads, for `npm start` and for the package. From the sources
 * through a loader the service takes a second and a half to listen, most of it for loading some hundred small files.
 * The other dependencies load as they are: many have a native part or data files beside their code.
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
        'import-worker': at('./import/worker/worker.ts'),
        'demo-worker': at('./demo/worker.ts'),
      },
      output: { entryFileNames: '[name].mjs', chunkFileNames: 'chunks/[name]-[hash].mjs' },
    },
  },
});
