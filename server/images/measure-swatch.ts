import { linearToLab } from '../core/colour/lab.ts';
import { decodeSrgb, LINEAR_CODES, type LinearRgb, linearToHex } from '../core/colour/srgb.ts';
import type { MeasuredColour, MeasuredField, MeasuredWhere, PixelField } from '../core/picture/swatch.ts';
import type { RawPicture } from '../core/ports/renderer.ts';

/**
 * Radius of the measured disc as a share of the shorter side: for a pinhead, or for half the diameter of the sphere.
 */
const RADIUS: Readonly<Record<Exclude<MeasuredWhere, 'whole-repeats'>, number>> = {
  flat: 0.05,
  'facing-centre': 0.02,
  mean: 0.22,
};

/**
 * The mean colour of the middle of a picture in linear light, over a disc or over whole repeats, weighted by opacity.
 * Null where every pixel is fully transparent.
 * @param onWhite measures the colour on white paper, the only colour a transparent piece has; alpha is blended in the
 * encoded values, as viewers do
 */
export function measureSwatch(picture: RawPicture, field: MeasuredField, onWhite = false): MeasuredColour | null {
  const { widthPx, heightPx, rgba } = picture;
  const { bounds, shareOf } = typeof field === 'object' ? rectangle(field) : disc(RADIUS[field], widthPx, heightPx);
  const sum = [0, 0, 0];
  let weight = 0;
  for (let y = bounds.top; y <= bounds.bottom; y++) {
    for (let x = bounds.left; x <= bounds.right; x++) {
      const share = shareOf(x, y);
      if (share === 0) continue;
      const at = (y * widthPx + x) * 4;
      const alpha = rgba[at + 3]! / 255;
      for (let channel = 0; channel < 3; channel++) {
        const level = rgba[at + channel]!;
        const light = onWhite ? decodeSrgb(1 + (level / 255 - 1) * alpha) : LINEAR_CODES[level]! * alpha;
        sum[channel]! += share * light;
      }
      weight += share * (onWhite ? 1 : alpha);
    }
  }
  if (weight === 0) return null;
  const rgb = sum.map((value) => value / weight) as unknown as LinearRgb;
  const where = typeof field === 'object' ? 'whole-repeats' : field;
  return { where, hex: linearToHex(rgb), lab: linearToLab(rgb) };
}

/** The pixels to measure, bounds inclusive, and the weight of each, 0–1. */
interface Field {
  readonly bounds: { readonly left: number; readonly top: number; readonly right: number; readonly bottom: number };
  readonly shareOf: (x: number, y: number) => number;
}

function disc(share: number, widthPx: number, heightPx: number): Field {
  const radius = Math.max(1, share * Math.min(widthPx, heightPx));
  const [middleX, middleY] = [(widthPx - 1) / 2, (heightPx - 1) / 2];
  return {
    bounds: {
      left: Math.ceil(middleX - radius),
      top: Math.ceil(middleY - radius),
      right: Math.floor(middleX + radius),
      bottom: Math.floor(middleY + radius),
    },
    shareOf: (x, y) => ((x - middleX) ** 2 + (y - middleY) ** 2 > radius * radius ? 0 : 1),
  };
}

/** A pixel on the edge counts by the share that is inside: a repeat is rarely a whole number of pixels. */
function rectangle({ left, top, width, height }: PixelField): Field {
  const inside = (at: number, from: number, length: number) =>
    Math.max(0, Math.min(at + 1, from + length) - Math.max(at, from));
  return {
    bounds: {
      left: Math.floor(left),
      top: Math.floor(top),
      right: Math.ceil(left + width) - 1,
      bottom: Math.ceil(top + height) - 1,
    },
    shareOf: (x, y) => inside(x, left, width) * inside(y, top, height),
  };
}
