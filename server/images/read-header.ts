import { ImageUtils } from '@gltf-transform/core';
import { EXTTextureWebP, KHRTextureBasisu } from '@gltf-transform/extensions';
import type { ImageMimeType } from '../core/finish/map-image.ts';

// the library reads the sizes of these two formats once they are registered
EXTTextureWebP.register();
KHRTextureBasisu.register();

/** Width and height in pixels, from the header alone; null when the header does not state them. */
export function readImageSize(
  bytes: Uint8Array,
  mimeType: ImageMimeType,
): { widthPx: number; heightPx: number } | null {
  try {
    const size = ImageUtils.getSize(bytes, mimeType);
    return size && size[0] > 0 && size[1] > 0 ? { widthPx: size[0], heightPx: size[1] } : null;
  } catch {
    return null;
  }
}

/**
 * The luminance table of ITU-T T.81 Annex K.1, in zigzag order as in files (figure A.6). The Independent JPEG Group's
 * library and most others scale it by quality. For other tables, the nearest of these gives an estimate.
 */
const LUMINANCE = [
  16, 11, 12, 14, 12, 10, 16, 14, 13, 14, 18, 17, 16, 19, 24, 40, 26, 24, 22, 22, 24, 49, 35, 37, 29, 40, 58, 51, 61,
  60, 57, 51, 56, 55, 64, 72, 92, 78, 64, 68, 87, 69, 55, 56, 80, 109, 81, 87, 95, 98, 103, 104, 103, 62, 77, 113, 121,
  112, 100, 120, 92, 101, 103, 99,
] as const;

/** Estimates the quality of a JPEG, 1–100, from its luminance table; null without one. */
export function readJpegQuality(bytes: Uint8Array): number | null {
  const table = findTable(bytes);
  if (!table) return null;
  let best = 1;
  let least = Number.POSITIVE_INFINITY;
  for (let quality = 1; quality <= 100; quality++) {
    const distance = table.reduce((sum, value, i) => sum + Math.abs(value - scale(LUMINANCE[i]!, quality)), 0);
    // of equal tables, the better quality counts
    if (distance <= least) [best, least] = [quality, distance];
  }
  return best;
}

/** The scaling of the Independent JPEG Group's library: 50 gives the table itself, 100 all ones. */
function scale(value: number, quality: number): number {
  const percent = quality < 50 ? Math.floor(5000 / quality) : 200 - 2 * quality;
  return Math.min(255, Math.max(1, Math.floor((value * percent + 50) / 100)));
}

const QUANTISATION = 0xdb;
const SCAN = 0xda;
const IS_FRAME = (marker: number) => marker >= 0xc0 && marker <= 0xcf && ![0xc4, 0xc8, 0xcc].includes(marker);

/** The table that the first component of the frame uses, in zigzag order. */
function findTable(bytes: Uint8Array): number[] | null {
  const tables = new Map<number, number[]>();
  let wanted = 0;
  for (let at = 2; at + 4 <= bytes.length; ) {
    const marker = bytes[at + 1]!;
    if (bytes[at] !== 0xff || marker === SCAN) break;
    if (marker === 0xff) {
      at++; // fill byte before a marker
      continue;
    }
    const end = at + 2 + bytes[at + 2]! * 256 + bytes[at + 3]!;
    if (marker === QUANTISATION) readTables(bytes.subarray(at + 4, end), tables);
    if (IS_FRAME(marker)) wanted = bytes[at + 12] ?? 0;
    at = end;
  }
  return tables.get(wanted) ?? null;
}

/** A segment has one or more tables, of bytes or, for 12-bit samples, of two bytes each. */
function readTables(segment: Uint8Array, tables: Map<number, number[]>): void {
  for (let at = 0; at < segment.length; ) {
    const head = segment[at++]!;
    const wide = head >> 4 !== 0;
    const table: number[] = [];
    for (let i = 0; i < 64 && at < segment.length; i++, at += wide ? 2 : 1) {
      table.push(wide ? segment[at]! * 256 + (segment[at + 1] ?? 0) : segment[at]!);
    }
    if (table.length === 64) tables.set(head & 15, table);
  }
}
