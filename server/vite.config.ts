import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vite';

const at = (path: string) => fileURLToPath(new URL(path, import.meta.url));

/**
 * Bundles the service for `npm start`. Run from its sources through a loader it takes a second and a half to listen, most
 * of it for loading some hundred small files; libraries made of many are taken into the bundle, the others load as they are.
 */
export default defineConfig({
  root: at('.'),
  logLevel: 'warn',
  ssr: { noExternal: ['typebox', 'kysely', 'colorjs.io', 'fastify', '@fastify/static', '@fastify/swagger', 'ajv'] },
  build: {
    ssr: true,
    target: 'node20',
    outDir: at('../.build/server'),
    emptyOutDir: true,
    minify: false,
    rolldownOptions: {
      input: {
        dyeworks: at('./command-line-entry.ts'),
        'gltf-worker': at('./gltf/worker/worker.ts'),
        'pixel-worker': at('../renderer/pixels/worker/worker.ts'),
        'import-worker': at('./import/worker/worker.ts'),
        'demo-worker': at('./demo/worker.ts'),
      },
      output: { entryFileNames: '[name].mjs', chunkFileNames: 'chunks/[name]-[hash].mjs' },
    },
  },
});
