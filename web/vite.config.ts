import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vite';

/**
 * The authoring pages. JSX is compiled by the settings of tsconfig.json; the live preview, and three with it, is a part
 * of its own that is fetched when a product's page is opened. three's decoders are emitted beside it, since its loaders
 * name them by `import.meta.url`.
 */
export default defineConfig({
  root: fileURLToPath(new URL('.', import.meta.url)),
  base: '/',
  publicDir: false,
  logLevel: 'warn',
  build: {
    outDir: fileURLToPath(new URL('../.build/web', import.meta.url)),
    emptyOutDir: true,
    target: 'es2022',
    // three alone is 700 kB
    chunkSizeWarningLimit: 1600,
    // everything is a file of its own: the pages' policy allows no fonts from data: addresses
    assetsInlineLimit: 0,
  },
});
