import { fileURLToPath } from 'node:url';
import { defineConfig, type Plugin, runnerImport } from 'vite';

/** Stops the build when three's shaders do not fit the studio's changes. */
const checkShaders: Plugin = {
  name: 'check-shaders',
  async buildStart() {
    const path = fileURLToPath(new URL('./studio-shading.ts', import.meta.url));
    const { module } = await runnerImport<{ checkShaders(): void }>(path);
    module.checkShaders();
  },
};

/**
 * The studio page, for the browser that takes pictures. File names are stable, because only that browser loads it. The
 * build emits three's Draco and Basis decoders beside it, because its loaders find them by `import.meta.url`.
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
      // The check of shaders takes a second; it is not reported.
      checks: { bundlerTimings: false },
      output: {
        entryFileNames: '[name].js',
        chunkFileNames: '[name].js',
        assetFileNames: '[name][extname]',
      },
    },
  },
});
