import type { Lab } from '../colour/lab.ts';
import { linearToLab } from '../colour/lab.ts';
import { decodeSrgb, type LinearRgb, linearToHex } from '../colour/srgb.ts';
import type { RawPicture } from '../ports/renderer.ts';

/**
 * Where a swatch is measured: anywhere of a flat one, in the middle of a lit one where it faces the viewer, or over a wide
 * field where a pattern has to be averaged.
 */
export type MeasuredWhere = 'flat' | 'facing-centre' | 'mean';

export interface MeasuredColour {
  readonly where: MeasuredWhere;
  readonly hex: string;
  /** CIE Lab, D65, 2°. */
  readonly lab: Lab;
}

/** Radius of the field that is measured, as a share of the shorter side: a pinhead, or half the sphere across. */
const RADIUS: Readonly<Record<MeasuredWhere, number>> = { flat: 0.05, 'facing-centre': 0.02, mean: 0.22 };

const LEVELS = Float64Array.from({ length: 256 }, (_, level) => decodeSrgb(level / 255));

/**
 * The colour of the middle of a picture: the mean in linear light over a disc, of what is not see-through. Null where all of
 * it is.
 * @param onWhite reads it as it looks on white paper, which is the only colour a see-through piece has; alpha is blended in
 * the encoded values, as viewers do
 */
export function measureSwatch(picture: RawPicture, where: MeasuredWhere, onWhite = false): MeasuredColour | null {
  const { widthPx, heightPx, rgba } = picture;
  const radius = Math.max(1, RADIUS[where] * Math.min(widthPx, heightPx));
  const [middleX, middleY] = [(widthPx - 1) / 2, (heightPx - 1) / 2];
  const sum = [0, 0, 0];
  let weight = 0;
  for (let y = Math.ceil(middleY - radius); y <= middleY + radius; y++) {
    for (let x = Math.ceil(middleX - radius); x <= middleX + radius; x++) {
      if ((x - middleX) ** 2 + (y - middleY) ** 2 > radius * radius) continue;
      const at = (y * widthPx + x) * 4;
      const alpha = rgba[at + 3]! / 255;
      for (let channel = 0; channel < 3; channel++) {
        const level = rgba[at + channel]!;
        sum[channel]! += onWhite ? decodeSrgb(1 + (level / 255 - 1) * alpha) : LEVELS[level]! * alpha;
      }
      weight += onWhite ? 1 : alpha;
    }
  }
  if (weight === 0) return null;
  const rgb = sum.map((value) => value / weight) as unknown as LinearRgb;
  return { where, hex: linearToHex(rgb), lab: linearToLab(rgb) };
}
