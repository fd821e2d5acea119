import { LINEAR_CODES, type LinearRgb, luminance, toCode } from '../../../core/colour/srgb.ts';
import type { Pixels } from '../../../images/read-pixels.ts';
import { type TexelUse, weighTexels } from '../../geometry/mask-texels.ts';

export interface Neutral {
  /** Grey, or grey and alpha where the map has one: 8-bit codes whose grey is sRGB. */
  readonly data: Buffer;
  readonly channels: 1 | 2;
  readonly wearers: readonly {
    /** Linear mean of the grey that was written, over what the material shows. */
    readonly mean: number;
    /** Linear mean of the map as it was, over the same. */
    readonly colour: LinearRgb;
  }[];
}

/**
 * Drops the hue of a colour map: its luminance (BT.709, in linear light), divided by the largest that is seen, so that the
 * lightest texel is white and as much as can be is left for a finish's colour to fill.
 *
 * The largest itself and not a percentile, which would flatten the lights of a pattern; but of what is seen only: paint
 * between the islands of an atlas, or behind holes, would else darken the whole. What is not seen is cut at white.
 */
export function neutralise(pixels: Pixels, wearings: readonly TexelUse[]): Neutral {
  const { data, channels } = pixels;
  const texels = pixels.widthPx * pixels.heightPx;
  const weights = wearings.map((wearing) => weighTexels(pixels, wearing));
  const seen = weights.includes(null) ? null : (weights as Uint8Array[]);
  const lights = new Float32Array(texels);
  let largest = 0;
  for (let texel = 0; texel < texels; texel++) {
    const light = luminanceOf(data, texel * channels);
    lights[texel] = light;
    if (light > largest && (seen === null || seen.some((weight) => weight[texel]! > 0))) largest = light;
  }
  const step = channels === 4 ? 2 : 1;
  const out = Buffer.alloc(texels * step);
  for (let texel = 0; texel < texels; texel++) {
    // a map that is black all over has no pattern, and becomes white
    const light = largest > 0 ? lights[texel]! / largest : 1;
    out[texel * step] = toCode(light);
    if (step === 2) out[texel * step + 1] = data[texel * channels + 3]!;
  }
  const wearers = weights.map((weight) => {
    let [sum, grey, red, green, blue] = [0, 0, 0, 0, 0];
    for (let texel = 0, at = 0; texel < texels; texel++, at += channels) {
      const share = weight === null ? 255 : weight[texel]!;
      if (share === 0) continue;
      sum += share;
      grey += share * LINEAR_CODES[out[texel * step]!]!;
      red += share * LINEAR_CODES[data[at]!]!;
      green += share * LINEAR_CODES[data[at + 1]!]!;
      blue += share * LINEAR_CODES[data[at + 2]!]!;
    }
    const colour: LinearRgb = [red / sum, green / sum, blue / sum];
    return { mean: grey / sum, colour };
  });
  return { data: out, channels: step, wearers };
}

const [RED, GREEN, BLUE] = [luminance([1, 0, 0]), luminance([0, 1, 0]), luminance([0, 0, 1])];

function luminanceOf(data: Buffer, at: number): number {
  return RED * LINEAR_CODES[data[at]!]! + GREEN * LINEAR_CODES[data[at + 1]!]! + BLUE * LINEAR_CODES[data[at + 2]!]!;
}
