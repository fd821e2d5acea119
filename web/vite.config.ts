import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vite';

/**
 * The authoring pages. tsconfig.json has the settings for JSX. The live preview, with three, is a separate chunk that the
 * browser fetches when it opens a product's page. Vite emits three's decoders beside that chunk, because three's loaders
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
    // no asset is inlined: the content security policy of the pages refuses fonts from data: URLs
    assetsInlineLimit: 0,
  },
});
