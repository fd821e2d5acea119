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
 * What is wrong with the segments of a JPEG (ITU T.81, annex B): a marker that is none, in its data for the most part, a
 * scan too many, or no end, since what is damaged leads past it. The image library stops looking when it has all rows, and a browser does
 * not. Null for none.
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
