import { fileURLToPath } from 'node:url';
import { defineConfig, type Plugin } from 'vite';
import { writeWorkers } from '../../server/pack/write-viewer-workers.ts';

const root = fileURLToPath(new URL('.', import.meta.url));

/** Files that three's loaders would fetch, and that the workers contain. */
const CONTAINED = /^(?:draco_decoder\d*\.js|draco_wasm_wrapper\d*\.js|basis_transcoder\.js|draco_decoder\d*\.wasm)$/;

const addWorkers: Plugin = {
  name: 'add-workers',
  generateBundle(_, bundle) {
    for (const name of Object.keys(bundle)) if (CONTAINED.test(name)) delete bundle[name];
    for (const file of writeWorkers()) this.emitFile({ type: 'asset', ...file });
  },
};

/**
 * The viewer for shop pages. File names are stable, since shops refer to the script; what it loads later lies beside it, the
 * decoders and their workers too.
 */
export default defineConfig({
  root,
  base: './',
  publicDir: false,
  logLevel: 'warn',
  plugins: [addWorkers],
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
