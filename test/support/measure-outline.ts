import sharp from 'sharp';
import type { RawPicture } from '../../server/core/ports/renderer.ts';

/** The smallest box around the counted pixels of a picture, px. */
export interface Outline {
  readonly width: number;
  readonly height: number;
}

/** Covers half of the pixel or more. */
const isCovered = (pixel: Uint8Array) => pixel[3]! >= 128;

/** @param counts whether a pixel counts, by its four bytes */
export function measureOutline({ rgba, widthPx, heightPx }: RawPicture, counts = isCovered): Outline {
  const edge = { left: widthPx, right: -1, top: heightPx, bottom: -1 };
  for (let y = 0; y < heightPx; y++) {
    for (let x = 0; x < widthPx; x++) {
      const at = (y * widthPx + x) * 4;
      if (!counts(rgba.subarray(at, at + 4))) continue;
      edge.left = Math.min(edge.left, x);
      edge.right = Math.max(edge.right, x);
      edge.top = Math.min(edge.top, y);
      edge.bottom = Math.max(edge.bottom, y);
    }
  }
  return { width: edge.right - edge.left + 1, height: edge.bottom - edge.top + 1 };
}

/** The outline in an image file. */
export async function measureFileOutline(file: Uint8Array): Promise<Outline> {
  const { data, info } = await sharp(file).ensureAlpha().raw().toBuffer({ resolveWithObject: true });
  return measureOutline({ rgba: data, widthPx: info.width, heightPx: info.height });
}
