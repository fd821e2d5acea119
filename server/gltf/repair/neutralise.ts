import { encodeSrgb, type LinearRgb, luminance } from '../../core/colour/srgb.ts';
import { LINEAR_CODES } from '../linear-codes.ts';
import type { Pixels } from '../read-pixels.ts';
import type { TexelMask } from './mask-texels.ts';

/** How a material shows a colour map. */
export interface Wearing {
  /** What of the map its triangles show; null for all of it. */
  readonly mask: TexelMask | null;
  readonly alpha: { readonly mode: 'OPAQUE' | 'MASK' | 'BLEND'; readonly cutoff: number };
}

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
export function neutralise(pixels: Pixels, wearings: readonly Wearing[]): Neutral {
  const { data, channels } = pixels;
  const texels = pixels.widthPx * pixels.heightPx;
  const weights = wearings.map((wearing) => makeWeight(pixels, wearing));
  let largest = 0;
  for (let texel = 0; texel < texels; texel++) {
    const light = luminanceOf(data, texel * channels);
    if (light > largest && weights.some((weight) => weight(texel) > 0)) largest = light;
  }
  const step = channels === 4 ? 2 : 1;
  const out = Buffer.alloc(texels * step);
  for (let texel = 0; texel < texels; texel++) {
    // a map that is black all over has no pattern, and becomes white
    const light = largest > 0 ? luminanceOf(data, texel * channels) / largest : 1;
    out[texel * step] = CODES[Math.round(Math.min(1, light) * STEPS)]!;
    if (step === 2) out[texel * step + 1] = data[texel * channels + 3]!;
  }
  const wearers = weights.map((weight) => {
    let sum = 0;
    let grey = 0;
    const colour = [0, 0, 0];
    for (let texel = 0; texel < texels; texel++) {
      const share = weight(texel);
      if (share === 0) continue;
      sum += share;
      grey += share * LINEAR_CODES[out[texel * step]!]!;
      for (let c = 0; c < 3; c++) colour[c]! += share * LINEAR_CODES[data[texel * channels + c]!]!;
    }
    const mean = colour.map((value) => value / sum) as [number, number, number];
    return { mean: grey / sum, colour: mean };
  });
  return { data: out, channels: step, wearers };
}

/** Steps of linear light in which codes are looked up: at its steepest the sRGB curve has a twentieth of a code in one. */
const STEPS = 65_535;
const CODES = Uint8Array.from({ length: STEPS + 1 }, (_, i) => Math.round(encodeSrgb(i / STEPS) * 255));

const [RED, GREEN, BLUE] = [luminance([1, 0, 0]), luminance([0, 1, 0]), luminance([0, 0, 1])];

function luminanceOf(data: Buffer, at: number): number {
  return RED * LINEAR_CODES[data[at]!]! + GREEN * LINEAR_CODES[data[at + 1]!]! + BLUE * LINEAR_CODES[data[at + 2]!]!;
}

/** How much each texel counts for a material, 0–1; where nothing of the map would count, all of it does. */
function makeWeight(
  { data, channels, widthPx, heightPx }: Pixels,
  { mask, alpha }: Wearing,
): (texel: number) => number {
  const cutoff = alpha.cutoff * 255;
  const opacity = (texel: number) => {
    if (channels === 3 || alpha.mode === 'OPAQUE') return 1;
    const code = data[texel * channels + 3]!;
    return alpha.mode === 'BLEND' ? code / 255 : Number(code >= cutoff);
  };
  const seen = (texel: number) => {
    if (!mask) return opacity(texel);
    const x = Math.floor(((texel % widthPx) * mask.width) / widthPx);
    const y = Math.floor((Math.floor(texel / widthPx) * mask.height) / heightPx);
    return mask.cells[y * mask.width + x] === 1 ? opacity(texel) : 0;
  };
  for (let texel = 0; texel < widthPx * heightPx; texel++) if (seen(texel) > 0) return seen;
  return () => 1;
}
