import { LINEAR_CODES, toCode } from '../../core/colour/srgb.ts';
import { USD_TEXTURE_PX } from '../../core/delivery/usd-form.ts';
import { sniffImage } from '../../core/finish/map-image.ts';
import { encodeJpeg, encodePng, type Pixels, readPixels } from '../../images/image-codec.ts';
import { readImageSize } from '../../images/read-header.ts';
import { shrinkPixels } from '../../images/shrink-pixels.ts';

/** What a map needs before any viewer shows it right. */
export type Recipe =
  /** sRGB colour times a linear factor. @property alpha factor of the alpha; null drops it */
  | { readonly kind: 'colour'; readonly factor: readonly [number, number, number]; readonly alpha: number | null }
  /** Each channel is a number: scaled, then moved. */
  | {
      readonly kind: 'data';
      readonly scale: readonly [number, number, number];
      readonly offset: readonly [number, number, number];
    }
  /** Directions; x and y are scaled. */
  | { readonly kind: 'normal'; readonly scale: number }
  /** Roughness from glossiness, which alpha holds: 1 − alpha × factor. */
  | { readonly kind: 'gloss'; readonly factor: number };

export interface Baked {
  readonly bytes: Uint8Array;
  readonly extension: 'png' | 'jpg';
  readonly reduced: boolean;
}

/**
 * Bakes factors into a map, and fits it into `USD_TEXTURE_PX`. An image that needs neither stays byte for byte if it is a PNG or
 * JPEG of 8 bits; a package may have no other format. The same image and recipe give the same bytes.
 * @throws Problem as `readPixels`
 */
export async function bakeTexture(image: Uint8Array, recipe: Recipe): Promise<Baked> {
  const type = sniffImage(image);
  const size = type && readImageSize(image, type);
  const reduced = size !== null && Math.max(size.widthPx, size.heightPx) > USD_TEXTURE_PX;
  if (!reduced && isNeutral(recipe) && isPlain(image, type, recipe)) {
    return { bytes: image, extension: type === 'image/png' ? 'png' : 'jpg', reduced: false };
  }
  const pixels = await readPixels(image);
  const cut = recipe.kind === 'colour' && recipe.alpha === null ? dropAlpha(pixels) : pixels;
  const baked = bake(shrinkToFit(cut, recipe), recipe);
  const lossy = recipe.kind === 'colour' && baked.channels === 3 && type !== 'image/png';
  return { bytes: await (lossy ? encodeJpeg(baked) : encodePng(baked)), extension: lossy ? 'jpg' : 'png', reduced };
}

function isNeutral(recipe: Recipe): boolean {
  switch (recipe.kind) {
    case 'colour':
      return recipe.factor.every((value) => value === 1) && (recipe.alpha ?? 1) === 1;
    case 'data':
      return recipe.scale.every((value) => value === 1) && recipe.offset.every((value) => value === 0);
    case 'normal':
      return recipe.scale === 1;
    default:
      return false;
  }
}

/** Offsets in the header of a PNG (third edition, §11.2.1). */
const [BIT_DEPTH, COLOUR_TYPE] = [24, 25];

/** Whether every viewer reads the file as it is. An opaque surface gets no alpha: some viewers would cut it out. */
function isPlain(image: Uint8Array, type: string | null, recipe: Recipe): boolean {
  if (type === 'image/jpeg') return true;
  // true colour of 8 bits: grey images and palettes have no channels of their own for the others
  if (type !== 'image/png' || image[BIT_DEPTH] !== 8) return false;
  return image[COLOUR_TYPE] === 2 || (image[COLOUR_TYPE] === 6 && recipe.kind === 'colour' && recipe.alpha !== null);
}

function shrinkToFit(pixels: Pixels, recipe: Recipe): Pixels {
  const scale = USD_TEXTURE_PX / Math.max(pixels.widthPx, pixels.heightPx);
  if (scale >= 1) return pixels;
  const [width, height] = [pixels.widthPx, pixels.heightPx].map((side) => Math.max(1, Math.round(side * scale)));
  return shrinkPixels(pixels, width!, height!, {
    asLight: recipe.kind === 'colour',
    byAlpha: recipe.kind === 'colour',
  });
}

function dropAlpha({ data, channels, ...size }: Pixels): Pixels {
  if (channels === 3) return { data, channels, ...size };
  const out = Buffer.alloc((data.length / 4) * 3);
  for (let from = 0, to = 0; from < data.length; from += 4, to += 3) {
    out[to] = data[from]!;
    out[to + 1] = data[from + 1]!;
    out[to + 2] = data[from + 2]!;
  }
  return { data: out, channels: 3, ...size };
}

function bake(pixels: Pixels, recipe: Recipe): Pixels {
  switch (recipe.kind) {
    case 'colour':
      return bakeColour(pixels, recipe);
    case 'data':
      return bakeTables(
        dropAlpha(pixels),
        [0, 1, 2].map((channel) =>
          makeTable((code) => (code / 255) * recipe.scale[channel]! + recipe.offset[channel]!),
        ),
      );
    case 'normal':
      return bakeNormals(dropAlpha(pixels), recipe.scale);
    case 'gloss':
      return bakeGloss(pixels, recipe.factor);
  }
}

/** A code for each code. */
function makeTable(change: (code: number) => number): Uint8Array {
  return Uint8Array.from({ length: 256 }, (_, code) => Math.round(Math.min(1, Math.max(0, change(code))) * 255));
}

function bakeColour(pixels: Pixels, { factor, alpha }: Extract<Recipe, { kind: 'colour' }>): Pixels {
  const tables = factor.map((value) => Uint8Array.from(LINEAR_CODES, (light) => toCode(light * value)));
  if (alpha === null || (alpha === 1 && pixels.channels === 3)) return bakeTables(pixels, tables);
  const own = pixels.channels === 4 ? pixels : addAlpha(pixels);
  return bakeTables(own, [...tables, makeTable((code) => (code / 255) * alpha)]);
}

function bakeTables({ data, channels, ...size }: Pixels, tables: readonly Uint8Array[]): Pixels {
  const out = Buffer.from(data);
  for (let at = 0; at < out.length; at++) {
    const table = tables[at % channels];
    if (table) out[at] = table[out[at]!]!;
  }
  return { data: out, channels, ...size };
}

function addAlpha({ data, ...size }: Pixels): Pixels {
  const out = Buffer.alloc((data.length / 3) * 4, 255);
  for (let from = 0, to = 0; from < data.length; from += 3, to += 4) {
    out[to] = data[from]!;
    out[to + 1] = data[from + 1]!;
    out[to + 2] = data[from + 2]!;
  }
  return { ...size, data: out, channels: 4 };
}

/** Code of a component 0; codes 0 to 255 mean −1 to 1. */
const MIDDLE = 127.5;

function bakeNormals({ data, ...size }: Pixels, scale: number): Pixels {
  const out = Buffer.alloc(data.length);
  for (let at = 0; at < data.length; at += 3) {
    const x = (data[at]! / MIDDLE - 1) * scale;
    const y = (data[at + 1]! / MIDDLE - 1) * scale;
    const z = data[at + 2]! / MIDDLE - 1;
    const length = Math.hypot(x, y, z) || 1;
    [x, y, z].forEach((value, axis) => {
      out[at + axis] = Math.round((value / length + 1) * MIDDLE);
    });
  }
  return { ...size, data: out };
}

function bakeGloss({ data, channels, ...size }: Pixels, factor: number): Pixels {
  const out = Buffer.alloc((data.length / channels) * 3);
  for (let from = 0, to = 0; from < data.length; from += channels, to += 3) {
    const gloss = (channels === 4 ? data[from + 3]! / 255 : 1) * factor;
    out.fill(Math.round((1 - Math.min(1, gloss)) * 255), to, to + 3);
  }
  return { ...size, channels: 3, data: out };
}
