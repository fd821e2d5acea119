import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vite';

/**
 * The studio page, for the browser that takes pictures. Names are stable: it is served to that browser alone.
 * three's Draco and Basis decoders are emitted beside it, since its loaders name them by `import.meta.url`.
 */
export default defineConfig({
  root: fileURLToPath(new URL('.', import.meta.url)),
  base: './',
  publicDir: false,
  logLevel: 'warn',
  build: {
    outDir: fileURLToPath(new URL('../../.build/studio', import.meta.url)),
    emptyOutDir: true,
    target: 'chrome120',
    modulePreload: false,
    chunkSizeWarningLimit: 2000,
    rollupOptions: {
      output: {
        entryFileNames: '[name].js',
        chunkFileNames: '[name].js',
        assetFileNames: '[name][extname]',
      },
    },
  },
});
