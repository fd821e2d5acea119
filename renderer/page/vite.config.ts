import { fileURLToPath } from 'node:url';
import { defineConfig, type Plugin, runnerImport } from 'vite';

/** Ends the build where three's shaders are not those that the studio changes. */
const checkShaders: Plugin = {
  name: 'check-shaders',
  async buildStart() {
    const path = fileURLToPath(new URL('./studio-shading.ts', import.meta.url));
    const { module } = await runnerImport<{ checkShaders(): void }>(path);
    module.checkShaders();
  },
};

/**
 * The studio page, for the browser that takes pictures. Names are stable: it is served to that browser alone.
 * three's Draco and Basis decoders are emitted beside it, since its loaders name them by `import.meta.url`.
 */
export default defineConfig({
  root: fileURLToPath(new URL('.', import.meta.url)),
  base: './',
  publicDir: false,
  logLevel: 'warn',
  plugins: [checkShaders],
  build: {
    outDir: fileURLToPath(new URL('../../.build/studio', import.meta.url)),
    emptyOutDir: true,
    target: 'chrome120',
    modulePreload: false,
    chunkSizeWarningLimit: 2000,
    rollupOptions: {
      // the check of shaders takes a second, which is no news
      checks: { bundlerTimings: false },
      output: {
        entryFileNames: '[name].js',
        chunkFileNames: '[name].js',
        assetFileNames: '[name][extname]',
      },
    },
  },
});
