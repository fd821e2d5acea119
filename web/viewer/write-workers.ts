import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Plugin } from 'vite';
import { writePlainCalls } from './plain-calls.ts';

const THREE = fileURLToPath(new URL('../../node_modules/three/examples/jsm/', import.meta.url));

/** Files of three's own that its loaders would fetch, but the workers below contain. */
const CONTAINED = /^(?:draco_decoder\d*\.js|draco_wasm_wrapper\d*\.js|basis_transcoder\.js|draco_decoder\d*\.wasm)$/;

/**
 * Writes three's workers as files beside the script: a policy of `default-src 'self'` refuses workers from `blob:`, which three
 * would make. Stops the build when three's loaders have changed.
 */
export const writeWorkers: Plugin = {
  name: 'write-workers',
  generateBundle(_, bundle) {
    for (const name of Object.keys(bundle)) if (CONTAINED.test(name)) delete bundle[name];
    const emit = (fileName: string, path: string, write: (bytes: Buffer) => string | Uint8Array) =>
      this.emitFile({
        type: 'asset',
        fileName,
        originalFileName: join(THREE, path),
        source: write(readFileSync(join(THREE, path))),
      });
    const draco = readBody('loaders/DRACOLoader.js', /^function DRACOWorker\(\) \{$/m);
    emit('draco-worker.js', 'libs/draco/gltf/draco_wasm_wrapper.js', (script) => `${script}\n${draco}`);
    emit('draco-script-worker.js', 'libs/draco/gltf/draco_decoder.js', (script) => `${script}\n${draco}`);
    emit('draco-worker.wasm', 'libs/draco/gltf/draco_decoder.wasm', (bytes) => bytes);
    const basis = readBody('loaders/KTX2Loader.js', /^KTX2Loader\.BasisWorker = function \(\) \{$/m);
    emit('basis-worker.js', 'libs/basis/basis_transcoder.js', (script) =>
      [writeConstants(), writePlainCalls(String(script)), basis].join('\n'),
    );
  },
};

/** The lines of a function that begins with a line and ends with a brace in the first column. */
function readBody(path: string, head: RegExp): string {
  const text = readFileSync(join(THREE, path), 'utf8');
  const found = head.exec(text);
  const from = (found?.index ?? 0) + (found?.[0].length ?? 0);
  const end = /^\};?$/m.exec(text.slice(from));
  if (!found || !end) throw new Error(`${path} has no ${head.source}.`);
  return text.slice(from, from + end.index);
}

/** The constants that three's loader writes before its worker; its formats are numbers of three and of Basis Universal. */
function writeConstants(): string {
  const text = readFileSync(join(THREE, 'loaders/KTX2Loader.js'), 'utf8');
  const core = readFileSync(join(THREE, '../../src/constants.js'), 'utf8');
  return ['EngineFormat', 'EngineType', 'TranscoderFormat', 'BasisFormat']
    .map((name) => {
      const found = new RegExp(`^KTX2Loader\\.${name} = (\\{[^}]*\\});$`, 'm').exec(text);
      if (!found) throw new Error(`three's KTX2 loader has no ${name}.`);
      const body = found[1]!.replace(/: ([A-Z]\w+),/g, (_, constant: string) => `: ${readConstant(core, constant)},`);
      return `let _${name} = ${body};`;
    })
    .join('\n');
}

function readConstant(core: string, name: string): string {
  const found = new RegExp(`^export const ${name} = (\\d+);`, 'm').exec(core);
  if (!found) throw new Error(`three has no ${name}.`);
  return found[1]!;
}
