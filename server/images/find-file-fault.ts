import { crc32 } from 'node:zlib';
import { sniffImage } from '../core/finish/map-image.ts';

/**
 * Finds damage in a PNG or JPEG that the image library does not report and a browser does: the library ignores a missing
 * last chunk, and stops when it has all rows.
 * @param strict also reports damage that viewers ignore
 * @returns the damage, worded to follow a colon; null for a whole file and for other formats
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
 * What is wrong with the chunks of a PNG: a cut chunk, bytes between chunks, a wrong CRC (PNG, third edition, §5.3 and
 * §13.2) or a missing last chunk. Null for a whole file.
 * @param which `critical` ignores the CRC of ancillary chunks, since viewers leave such a chunk out
 */
export function findPngFault(bytes: Uint8Array, which: 'critical' | 'all'): string | null {
  const file = Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  for (let at = SIGNATURE_BYTES; at + FRAME_BYTES <= file.length; ) {
    const length = file.readUInt32BE(at);
    const type = file.toString('latin1', at + 4, at + 8);
    const end = at + FRAME_BYTES + length;
    if (!/^[A-Za-z]{4}$/.test(type)) return 'it has bytes between its chunks';
    if (end > file.length) return `its ${type} chunk is cut`;
    // an upper-case first letter says that no image can be made without the chunk
    if (which === 'all' || type[0]! < 'a') {
      const stated = file.readUInt32BE(end - 4);
      if (crc32(file.subarray(at + 4, end - 4)) !== stated) return `the CRC of its ${type} chunk does not agree`;
    }
    if (type === 'IEND') return null;
    at = end;
  }
  return 'it ends before its last chunk';
}

/** Markers without a length (ITU T.81, table B.1): TEM, restarts, and the start of the image. */
const isBare = (marker: number) => marker === 0x01 || (marker >= 0xd0 && marker <= 0xd8);
/** Codes that no marker of an image in use has: reserved, and extensions for other purposes. */
const isUnknown = (marker: number) => (marker > 0x01 && marker < 0xc0) || (marker >= 0xf0 && marker <= 0xfd);
const isRestart = (marker: number) => marker >= 0xd0 && marker <= 0xd7;
/** Baseline and extended sequential frames, each component of which is coded in one scan. */
const isSequential = (marker: number) => marker === 0xc0 || marker === 0xc1;
const START_OF_SCAN = 0xda;
const END_OF_IMAGE = 0xd9;

/**
 * What is wrong with the segments of a JPEG (ITU T.81, annex B): an unknown marker, which damaged data mostly lead to, a
 * scan too many, or a missing end. Null for a whole file.
 */
export function findJpegFault(bytes: Uint8Array): string | null {
  let at = 2;
  // components that scans may still bring
  let left = Number.POSITIVE_INFINITY;
  while (at < bytes.length) {
    // bytes before a marker are passed over, and so are those that fill up to it
    while (at < bytes.length && bytes[at] !== 0xff) at++;
    while (at < bytes.length && bytes[at] === 0xff) at++;
    const marker = bytes[at++];
    if (marker === undefined) break;
    if (marker === 0 || isBare(marker)) continue;
    if (marker === END_OF_IMAGE) return null;
    if (isUnknown(marker)) return 'its data are damaged';
    if (isSequential(marker)) left = bytes[at + 7] ?? 0;
    if (marker === START_OF_SCAN) left -= bytes[at + 2] ?? 0;
    if (left < 0) return 'its data are damaged';
    at += (bytes[at]! << 8) | bytes[at + 1]!;
    if (marker === START_OF_SCAN) at = skipScan(bytes, at);
  }
  return 'it ends too early';
}

/** Where the coded data of a scan end: at the next marker that is no restart. */
function skipScan(bytes: Uint8Array, from: number): number {
  for (let at = bytes.indexOf(0xff, from); at >= 0; at = bytes.indexOf(0xff, at + 1)) {
    const next = bytes[at + 1];
    if (next !== undefined && next !== 0 && next !== 0xff && !isRestart(next)) return at;
  }
  return bytes.length;
}
