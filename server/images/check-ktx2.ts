import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import { compileFunction } from 'node:vm';
import { MAP_PIXEL_LIMIT } from '../core/picture/picture.ts';

/** A file as the transcoder of Basis Universal reads it; what is used of it here. */
interface Ktx2File {
  isValid(): boolean;
  isHDR(): boolean;
  getWidth(): number;
  getHeight(): number;
  getFaces(): number;
  getLayers(): number;
  getLevels(): number;
  startTranscoding(): boolean;
  getImageTranscodedSizeInBytes(level: number, layer: number, face: number, format: number): number;
  transcodeImage(
    to: Uint8Array,
    level: number,
    layer: number,
    face: number,
    format: number,
    alpha: number,
    row: number,
    channel: number,
  ): boolean;
  close(): void;
  delete(): void;
}

interface Transcoder {
  initializeBasis(): void;
  readonly KTX2File: new (bytes: Uint8Array) => Ktx2File;
}

/** Formats of a byte a texel that the transcoder makes of everything it reads: BC7, and BC6H of light beyond 1. */
const TARGET = { plain: 7, hdr: 22 } as const;

let transcoder: Promise<Transcoder> | null = null;

/**
 * Decodes a KTX2 texture, every level of it, with the transcoder and the reader viewers have: three's. Loading them takes
 * some tenths of a second, and so does a level of 2048 px: it is to be run in a worker by who serves others meanwhile.
 * `KHR_texture_basisu` takes Basis Universal in two dimensions and no other kind of KTX2.
 * @returns why it cannot be decoded; null when it can
 */
export async function findKtx2Fault(bytes: Uint8Array): Promise<string | null> {
  try {
    const { read } = await import('three/examples/jsm/libs/ktx-parse.module.js');
    const { vkFormat } = read(bytes);
    transcoder ??= loadTranscoder();
    return transcode(await transcoder, bytes, vkFormat);
  } catch {
    // what made it stumble may have left it in any state
    transcoder = null;
    return 'its header or its levels are damaged';
  }
}

function transcode({ KTX2File }: Transcoder, bytes: Uint8Array, vkFormat: number): string | null {
  // of what it is given it makes others of its kind, and those must be plain
  const file = new KTX2File(new Uint8Array(bytes.buffer, bytes.byteOffset, bytes.byteLength));
  try {
    if (!file.isValid()) {
      return vkFormat === 0 ? 'its header is damaged' : 'it is not Basis Universal, which glTF asks of a KTX2 texture';
    }
    if (file.getFaces() !== 1 || file.getLayers() > 1) return 'it holds several images, and a texture is one';
    const [width, height] = [file.getWidth(), file.getHeight()];
    if (!(width > 0 && height > 0 && width * height <= MAP_PIXEL_LIMIT)) return 'its size is none that is taken';
    if (!file.startTranscoding()) return 'its tables are damaged';
    const format = file.isHDR() ? TARGET.hdr : TARGET.plain;
    for (let level = 0; level < file.getLevels(); level++) {
      const to = new Uint8Array(file.getImageTranscodedSizeInBytes(level, 0, 0, format));
      if (!file.transcodeImage(to, level, 0, 0, format, 0, -1, -1)) return `its level ${level} is damaged`;
    }
    return null;
  } finally {
    file.close();
    file.delete();
  }
}

/** The transcoder is a script of the browser's kind, which is no module to Node. */
async function loadTranscoder(): Promise<Transcoder> {
  const require = createRequire(import.meta.url);
  const path = require.resolve('three/examples/jsm/libs/basis/basis_transcoder.js');
  const folder = dirname(path);
  const module: { exports: unknown } = { exports: {} };
  const names = ['module', 'exports', 'require', '__dirname', '__filename'];
  compileFunction(readFileSync(path, 'utf8'), names)(module, module.exports, require, folder, path);
  const open = module.exports as (options: { wasmBinary: Uint8Array }) => Promise<Transcoder>;
  const loaded = await open({ wasmBinary: readFileSync(join(folder, 'basis_transcoder.wasm')) });
  loaded.initializeBasis();
  return loaded;
}
