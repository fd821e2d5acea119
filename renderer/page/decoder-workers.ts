import type { KTX2Loader } from 'three/examples/jsm/loaders/KTX2Loader.js';

// three's loaders make their workers from `blob:`, which a policy of `default-src 'self'` refuses. The build of the viewer writes
// the same workers as files, and these functions hand them to the loaders.

/** The least module of WebAssembly: its mark and its version (WebAssembly Core Specification, “Modules”). */
const EMPTY_MODULE = Uint8Array.of(0, 0x61, 0x73, 0x6d, 1, 0, 0, 0);

/** Whether the browser and the page's policy let WebAssembly run. */
export function allowsWebAssembly(): boolean {
  try {
    return new WebAssembly.Module(EMPTY_MODULE) instanceof WebAssembly.Module;
  } catch {
    return false;
  }
}

/** Fields of three's loader that its types leave out. */
interface DracoFields {
  decoderPending: Promise<void>;
  decoderConfig: { wasmBinary?: ArrayBuffer };
  workerSourceURL: string;
}

/** @returns the loader, which runs workers of a folder; without WebAssembly, those in plain script */
export async function createDracoFrom<T extends object>(folder: string, loader: T): Promise<T> {
  const fields = loader as unknown as DracoFields;
  const quick = allowsWebAssembly();
  if (quick) fields.decoderConfig = { wasmBinary: await fetchBytes(`${folder}draco-worker.wasm`) };
  fields.workerSourceURL = `${folder}${quick ? 'draco-worker.js' : 'draco-script-worker.js'}`;
  fields.decoderPending = Promise.resolve();
  return loader;
}

/** Lets a loader run its workers from a folder. */
export async function runTranscoderFrom(folder: string, loader: KTX2Loader): Promise<void> {
  const binary = await fetchBytes(`${folder}basis_transcoder.wasm`);
  loader.workerPool.setWorkerCreator(() => {
    const worker = new Worker(`${folder}basis-worker.js`);
    const transcoderBinary = binary.slice(0);
    worker.postMessage({ type: 'init', config: loader.workerConfig, transcoderBinary }, [transcoderBinary]);
    return worker;
  });
  loader.transcoderPending = Promise.resolve();
}

async function fetchBytes(url: string): Promise<ArrayBuffer> {
  const answer = await fetch(url);
  if (!answer.ok) throw new Error(`${url}: ${answer.status}`);
  return answer.arrayBuffer();
}

/** Loads a decoder of meshopt. */
export type MeshoptLoader = () => Promise<{
  readonly MeshoptDecoder: {
    decodeGltfBufferAsync(
      count: number,
      size: number,
      source: Uint8Array,
      mode: string,
      filter?: string,
    ): Promise<Uint8Array>;
  };
}>;

export const loadMeshopt: MeshoptLoader = () => import('three/examples/jsm/libs/meshopt_decoder.module.js');

/** The quick decoder; without WebAssembly, the one in plain script of a folder. */
export function loadMeshoptFrom(folder: string): MeshoptLoader {
  const script = `${folder}meshopt-script.js`;
  return () => (allowsWebAssembly() ? loadMeshopt() : import(/* @vite-ignore */ script));
}
