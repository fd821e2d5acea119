import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import { compileFunction } from 'node:vm';
import { crc32 } from 'node:zlib';
import { sniffImage } from '../core/finish/map-image.ts';
import { MAP_PIXEL_LIMIT } from '../core/picture/picture.ts';
import { IMAGE_FAULTS } from '../core/texts/image-faults.ts';

/**
 * Finds damage in a PNG or JPEG that browsers report and the image library does not: the library ignores a missing last
 * chunk, and stops when it has all rows.
 * @param strict also reports damage that viewers ignore
 * @returns the damage, worded to follow a colon; null for a complete file and for other formats
 */
export function findFileFault(image: Uint8Array, strict: boolean): string | null {
  switch (sniffImage(image)) {
    case 'image/png':
      return findPngFault(image, strict ? 'all' : 'critical');
    case 'image/jpeg':
      return findJpegFault(image);
    default:
      return null;
  }
}

const SIGNATURE_BYTES = 8;
/** Length, type and CRC, which every chunk has around its data. */
const FRAME_BYTES = 12;

/**
 * Finds a fault in the chunks of a PNG: a cut chunk, bytes between chunks, a wrong CRC (PNG, third edition, §5.3 and §13.2) or
 * a missing last chunk. Null for a complete file.
 * @param which `critical` ignores the CRC of ancillary chunks, since viewers skip such a chunk
 */
export function findPngFault(bytes: Uint8Array, which: 'critical' | 'all'): string | null {
  const file = Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  for (let at = SIGNATURE_BYTES; at + FRAME_BYTES <= file.length; ) {
    const length = file.readUInt32BE(at);
    const type = file.toString('latin1', at + 4, at + 8);
    const end = at + FRAME_BYTES + length;
    if (!/^[A-Za-z]{4}$/.test(type)) return IMAGE_FAULTS.betweenChunks;
    if (end > file.length) return IMAGE_FAULTS.cutChunk(type);
    // an upper-case first letter marks a critical chunk
    if (which === 'all' || type[0]! < 'a') {
      const stated = file.readUInt32BE(end - 4);
      if (crc32(file.subarray(at + 4, end - 4)) !== stated) return IMAGE_FAULTS.checksum(type);
    }
    if (type === 'IEND') return null;
    at = end;
  }
  return IMAGE_FAULTS.noEnd;
}

/** Markers without a length (ITU T.81, table B.1): TEM, restarts, and the start of the image. */
const isBare = (marker: number) => marker === 0x01 || (marker >= 0xd0 && marker <= 0xd8);
/** Codes of no marker in use: reserved ones, and extensions for other purposes. */
const isUnknown = (marker: number) => (marker > 0x01 && marker < 0xc0) || (marker >= 0xf0 && marker <= 0xfd);
const isRestart = (marker: number) => marker >= 0xd0 && marker <= 0xd7;
/** Baseline and extended sequential frames, in which each component is in one scan. */
const isSequential = (marker: number) => marker === 0xc0 || marker === 0xc1;
const START_OF_SCAN = 0xda;
const END_OF_IMAGE = 0xd9;

/**
 * Finds a fault in the segments of a JPEG (ITU T.81, annex B): an unknown marker, which damaged data usually cause, too many
 * scans, or a missing end. Null for a complete file.
 */
export function findJpegFault(bytes: Uint8Array): string | null {
  let at = 2;
  // components that scans may still contain
  let left = Number.POSITIVE_INFINITY;
  while (at < bytes.length) {
    // skips bytes and fill bytes before a marker
    while (at < bytes.length && bytes[at] !== 0xff) at++;
    while (at < bytes.length && bytes[at] === 0xff) at++;
    const marker = bytes[at++];
    if (marker === undefined) break;
    if (marker === 0 || isBare(marker)) continue;
    if (marker === END_OF_IMAGE) return null;
    if (isUnknown(marker)) return IMAGE_FAULTS.data;
    if (isSequential(marker)) left = bytes[at + 7] ?? 0;
    if (marker === START_OF_SCAN) left -= bytes[at + 2] ?? 0;
    if (left < 0) return IMAGE_FAULTS.data;
    at += (bytes[at]! << 8) | bytes[at + 1]!;
    if (marker === START_OF_SCAN) at = skipScan(bytes, at);
  }
  return IMAGE_FAULTS.short;
}

/** Skips the coded data of a scan, up to the next marker other than a restart. */
function skipScan(bytes: Uint8Array, from: number): number {
  for (let at = bytes.indexOf(0xff, from); at >= 0; at = bytes.indexOf(0xff, at + 1)) {
    const next = bytes[at + 1];
    if (next !== undefined && next !== 0 && next !== 0xff && !isRestart(next)) return at;
  }
  return bytes.length;
}

/** The part that Dyeworks uses of a file in the transcoder of Basis Universal. */
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

/** Formats of one byte per texel to which every file can be transcoded: BC7, and BC6H for HDR. */
const TARGET = { plain: 7, hdr: 22 } as const;

let transcoder: Promise<Transcoder> | null = null;

/**
 * Decodes every level of a KTX2 texture with three's reader and transcoder, as viewers do. Loading them takes some
 * tenths of a second, and so does a level of 2048 px, so a service runs it in a worker. `KHR_texture_basisu` allows
 * only two-dimensional Basis Universal.
 * @returns why it cannot be decoded; null if it can
 */
export async function findKtx2Fault(bytes: Uint8Array): Promise<string | null> {
  try {
    const { read } = await import('three/examples/jsm/libs/ktx-parse.module.js');
    const { vkFormat } = read(bytes);
    transcoder ??= loadTranscoder();
    return transcode(await transcoder, bytes, vkFormat);
  } catch {
    // the failure may have left the transcoder in any state
    transcoder = null;
    return IMAGE_FAULTS.ktx2.levels;
  }
}

/** Red, green, blue and alpha, 8 bits each. */
const RGBA = 13;

/**
 * The pixels of the first level of a KTX2 texture, by the transcoder that viewers use.
 * @throws Error if it cannot be decoded
 */
export async function decodeKtx2(
  bytes: Uint8Array,
): Promise<{ readonly data: Buffer; readonly widthPx: number; readonly heightPx: number; readonly channels: 4 }> {
  transcoder ??= loadTranscoder();
  const { KTX2File } = await transcoder;
  const file = new KTX2File(new Uint8Array(bytes.buffer, bytes.byteOffset, bytes.byteLength));
  try {
    if (!file.isValid() || !file.startTranscoding()) throw new Error('not a KTX2 texture that viewers decode');
    const data = Buffer.alloc(file.getImageTranscodedSizeInBytes(0, 0, 0, RGBA));
    // the transcoder wants a Uint8Array and not a Buffer
    const to = new Uint8Array(data.buffer, data.byteOffset, data.length);
    if (!file.transcodeImage(to, 0, 0, 0, RGBA, 0, -1, -1)) throw new Error('a level cannot be decoded');
    return { data, widthPx: file.getWidth(), heightPx: file.getHeight(), channels: 4 };
  } finally {
    file.close();
    file.delete();
  }
}

function transcode({ KTX2File }: Transcoder, bytes: Uint8Array, vkFormat: number): string | null {
  // the transcoder copies its argument with the same constructor, which must be Uint8Array and not Buffer
  const file = new KTX2File(new Uint8Array(bytes.buffer, bytes.byteOffset, bytes.byteLength));
  try {
    if (!file.isValid()) {
      return vkFormat === 0 ? IMAGE_FAULTS.ktx2.header : IMAGE_FAULTS.ktx2.notBasis;
    }
    if (file.getFaces() !== 1 || file.getLayers() > 1) return IMAGE_FAULTS.ktx2.several;
    const [width, height] = [file.getWidth(), file.getHeight()];
    if (!(width > 0 && height > 0 && width * height <= MAP_PIXEL_LIMIT)) return IMAGE_FAULTS.ktx2.size;
    if (!file.startTranscoding()) return IMAGE_FAULTS.ktx2.tables;
    const format = file.isHDR() ? TARGET.hdr : TARGET.plain;
    for (let level = 0; level < file.getLevels(); level++) {
      const to = new Uint8Array(file.getImageTranscodedSizeInBytes(level, 0, 0, format));
      if (!file.transcodeImage(to, level, 0, 0, format, 0, -1, -1)) return IMAGE_FAULTS.ktx2.level(level);
    }
    return null;
  } finally {
    file.close();
    file.delete();
  }
}

/** The transcoder is a browser script and not a module. */
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
