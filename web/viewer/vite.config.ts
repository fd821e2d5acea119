import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vite';
import { writeWorkers } from './write-workers.ts';

const root = fileURLToPath(new URL('.', import.meta.url));

/**
 * The viewer for shop pages. File names are stable, since shops refer to the script; what it loads later lies beside it, the
 * decoders and their workers too.
 */
export default defineConfig({
  root,
  base: './',
  publicDir: false,
  logLevel: 'warn',
  plugins: [writeWorkers],
  build: {
    outDir: fileURLToPath(new URL('../../.build/viewer', import.meta.url)),
    emptyOutDir: true,
    target: 'es2022',
    modulePreload: false,
    chunkSizeWarningLimit: 1600,
    assetsInlineLimit: 0,
    rollupOptions: {
      input: `${root}dyeworks-viewer.ts`,
      preserveEntrySignatures: 'strict',
      output: {
        entryFileNames: 'dyeworks-viewer.js',
        chunkFileNames: '[name].js',
        assetFileNames: '[name][extname]',
      },
    },
  },
});
