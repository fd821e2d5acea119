import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { writePlainCalls } from './plain-calls.ts';

const PACKAGES = fileURLToPath(new URL('../../node_modules/', import.meta.url));
const THREE = join(PACKAGES, 'three', 'examples', 'jsm');

interface Written {
  readonly fileName: string;
  /** The file that it comes from. */
  readonly originalFileName: string;
  readonly source: string | Uint8Array;
}

/**
 * three's workers as files beside the script: a policy of `default-src 'self'` refuses workers from `blob:`, which three would make.
 * Also the decoder of meshopt in plain script. @throws Error when three's loaders have changed
 */
export function writeWorkers(): Written[] {
  const write = (fileName: string, path: string, change: (bytes: Buffer) => string | Uint8Array): Written => {
    const originalFileName = join(PACKAGES, path);
    return { fileName, originalFileName, source: change(readFileSync(originalFileName)) };
  };
  const draco = readBody('loaders/DRACOLoader.js', /^function DRACOWorker\(\) \{$/m);
  const basis = readBody('loaders/KTX2Loader.js', /^KTX2Loader\.BasisWorker = function \(\) \{$/m);
  const libs = 'three/examples/jsm/libs';
  return [
    write('draco-worker.js', `${libs}/draco/gltf/draco_wasm_wrapper.js`, (script) => `${script}\n${draco}`),
    write('draco-script-worker.js', `${libs}/draco/gltf/draco_decoder.js`, (script) => `${script}\n${draco}`),
    write('draco-worker.wasm', `${libs}/draco/gltf/draco_decoder.wasm`, (bytes) => bytes),
    write('basis-worker.js', `${libs}/basis/basis_transcoder.js`, (script) =>
      [writeConstants(), writePlainCalls(String(script)), basis].join('\n'),
    ),
    write('meshopt-script.js', 'meshoptimizer/meshopt_decoder_reference.js', (script) => String(script)),
  ];
}

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
