import { type Frame, isPrinted, type PictureSet } from './picture-set.ts';

const MM_PER_INCH = 25.4;

/** Pixels of a length, to the nearest whole one; never none. */
export function toPx(mm: number, ppi: number): number {
  return Math.max(1, Math.round((mm / MM_PER_INCH) * ppi));
}

/**
 * How much of the frame a product is asked to take, in percent: the middle of what a set allows, so that a pixel more or
 * less at an edge leaves it within.
 */
export function chooseFillPercent({ minPercent, maxPercent }: PictureSet['fill']): number {
  return (minPercent + maxPercent) / 2;
}

/** A length of so many pixels on paper, in mm; to a hundredth. */
export function toMm(px: number, ppi: number): number {
  return Math.round((px / ppi) * MM_PER_INCH * 100) / 100;
}

export interface FrameSize {
  readonly widthPx: number;
  readonly heightPx: number;
  /** What is trimmed off each edge. */
  readonly bleedPx: number;
}

/**
 * Sizes in pixels that a frame comes to. Bleed is added to the printed size on all four edges before it is turned into
 * pixels, as print shops reckon it: A4 with 3 mm at 300 ppi is 216 × 303 mm, 2551 × 3579 px.
 */
export function listFrameSizes(frame: Frame): readonly FrameSize[] {
  if (isPrinted(frame)) {
    const { widthMm, heightMm, ppi, bleedMm } = frame;
    return [
      {
        widthPx: toPx(widthMm + 2 * bleedMm, ppi),
        heightPx: toPx(heightMm + 2 * bleedMm, ppi),
        bleedPx: bleedMm === 0 ? 0 : toPx(bleedMm, ppi),
      },
    ];
  }
  if ('sizesPx' in frame) return frame.sizesPx.map((side) => ({ widthPx: side, heightPx: side, bleedPx: 0 }));
  return [{ ...frame, bleedPx: 0 }];
}
