import { type Lab, linearToLab } from '../colour/lab.ts';
import { LINEAR_CODES } from '../colour/linear-codes.ts';
import { decodeSrgb, type LinearRgb, linearToHex } from '../colour/srgb.ts';
import type { RawPicture } from '../ports/renderer.ts';

/**
 * Where a swatch is measured: anywhere of a flat one, in the middle of a lit one where it faces the viewer, over a wide
 * field where a pattern has to be averaged, or over whole repeats of the pattern where the piece is large enough for one.
 */
export type MeasuredWhere = 'flat' | 'facing-centre' | 'mean' | 'whole-repeats';

/** A rectangle of a picture, px from its left top corner; edges need not fall on pixels. */
export interface PixelField {
  readonly left: number;
  readonly top: number;
  readonly width: number;
  readonly height: number;
}

/** A disc in the middle, by name, or whole repeats. */
export type MeasuredField = Exclude<MeasuredWhere, 'whole-repeats'> | PixelField;

export interface MeasuredColour {
  readonly where: MeasuredWhere;
  readonly hex: string;
  /** CIE Lab, D65, 2°. */
  readonly lab: Lab;
}

/** Radius of the field that is measured, as a share of the shorter side: a pinhead, or half the sphere across. */
const RADIUS: Readonly<Record<Exclude<MeasuredWhere, 'whole-repeats'>, number>> = {
  flat: 0.05,
  'facing-centre': 0.02,
  mean: 0.22,
};

/**
 * The colour of the middle of a picture: the mean in linear light over a disc or whole repeats, of what is not see-through.
 * Null where all of it is.
 * @param onWhite reads it as it looks on white paper, which is the only colour a see-through piece has; alpha is blended in
 * the encoded values, as viewers do
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

/** Which pixels are looked at, inclusive, and how much of each counts. */
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

/** Pixels on the edge count by as much of them as lies inside: a repeat is seldom a whole number of pixels. */
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
