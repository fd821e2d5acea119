import sharp, { type Sharp, type SharpOptions } from 'sharp';
import { MAP_PIXEL_LIMIT } from '../core/picture/picture.ts';
import type { RawPicture } from '../core/ports/renderer.ts';
import { Problem } from '../core/problems.ts';
import { IMAGE_FAULTS } from '../core/texts/image-faults.ts';
import { FINISH_PROBLEMS } from '../core/texts/problems/finish.ts';
import { findFileFault } from './find-image-fault.ts';

/** Pixels of an image as 8-bit codes in its own encoding: red, green, blue, and alpha where there is one. */
export interface Pixels {
  readonly data: Buffer;
  readonly widthPx: number;
  readonly heightPx: number;
  readonly channels: 3 | 4;
}

/** Pixels with the codes of the file: up to 255, or up to 65535 where the file has 16 bits per channel. */
export interface Codes extends Omit<Pixels, 'data'> {
  readonly data: Uint8Array | Uint16Array;
  readonly highest: 255 | 65535;
}

/**
 * Settings to read images of glTF. Profiles, gamma chunks and other colour information are ignored (glTF 2.0 §3.8.3):
 * only the use of a texture defines the meaning of its codes. A truncated or damaged file is refused, as in a browser,
 * but a warning of the decoder is no reason to refuse one. The orientation in EXIF is ignored: glTF does not mention
 * it, viewers differ, and texture coordinates fit the stored rows.
 */
export const READ_OPTIONS: SharpOptions = { limitInputPixels: MAP_PIXEL_LIMIT, ignoreIcc: true, failOn: 'error' };

/**
 * `viewer` reads everything that viewers show. `strict` also refuses a file that the decoder warns about: a person who
 * uploads an image can export it again.
 */
export type Strictness = 'viewer' | 'strict';

/** One step of an 8-bit code in codes of 16 bits: 65535 / 255. */
const STEP_16 = 257;

/**
 * Decodes an image; all images of models and finishes go through it. Grey images get three equal channels, palettes and
 * transparent colours (`tRNS`) are resolved, and 16-bit codes are rounded to the nearest of 8 bits (PNG, third edition,
 * §13.12).
 * @param sizePx longest side; from a larger image it picks texels and does not mix them, so constant, opaque and
 * unit-length values stay so
 * @throws Problem `image-colour-model` for CMYK, `image-unreadable` for an image that cannot be decoded or has too many
 * pixels
 */
export async function readPixels(
  image: Uint8Array,
  sizePx?: number,
  strictness: Strictness = 'viewer',
): Promise<Pixels> {
  const { data, info } = await toEightBit(await openImage(image, strictness))
    .raw()
    .toBuffer({ resolveWithObject: true })
    .catch(refuseDamaged);
  const pixels = { data, widthPx: info.width, heightPx: info.height, channels: checkChannels(info.channels) };
  return sizePx === undefined ? pixels : pickTexels(pixels, sizePx);
}

/**
 * Decodes a picture to RGBA, opaque where the file has no alpha.
 * @throws as `readPixels`
 */
export async function readPicture(image: Uint8Array): Promise<RawPicture> {
  const { data, info } = await toEightBit(await openImage(image, 'strict'))
    .ensureAlpha()
    .raw()
    .toBuffer({ resolveWithObject: true })
    .catch(refuseDamaged);
  return { widthPx: info.width, heightPx: info.height, rgba: data };
}

/**
 * Rounds 16 bits. The decoder's own conversion drops the lower byte, so it is up to one code too dark. The decoder
 * expands grey last.
 */
function toEightBit({ reader, deep, bands }: Awaited<ReturnType<typeof openImage>>): Sharp {
  if (!deep) return reader.toColourspace('srgb');
  return reader.linear(Array(bands).fill(1 / STEP_16), Array(bands).fill(0.5)).toColourspace('rgb16');
}

/**
 * Decodes an image without rounding 16-bit codes, for a conversion that goes through light.
 * @throws as `readPixels`
 */
export async function readCodes(image: Uint8Array): Promise<Codes> {
  const { reader, deep } = await openImage(image, 'viewer');
  const raw = deep ? reader.toColourspace('rgb16').raw({ depth: 'ushort' }) : reader.toColourspace('srgb').raw();
  const { data, info } = await raw.toBuffer({ resolveWithObject: true }).catch(refuseDamaged);
  const size = { widthPx: info.width, heightPx: info.height, channels: checkChannels(info.channels) };
  if (!deep) return { ...size, data, highest: 255 };
  // an array of 16-bit numbers must start at an even byte
  const bytes = data.byteOffset % 2 === 0 ? data : new Uint8Array(data);
  return { ...size, data: new Uint16Array(bytes.buffer, bytes.byteOffset, bytes.byteLength / 2), highest: 65535 };
}

async function openImage(image: Uint8Array, strictness: Strictness) {
  const strict = strictness === 'strict';
  const fault = findFileFault(image, strict);
  if (fault !== null) throw damageProblem(fault);
  const options: SharpOptions = { ...READ_OPTIONS, failOn: strict ? 'warning' : 'error' };
  const { space, depth, channels } = await sharp(image, options).metadata().catch(refuseDamaged);
  if (space === 'cmyk') throw cmykProblem();
  return { reader: sharp(image, options), deep: depth === 'ushort', bands: channels };
}

/** The decoder's own message helps only developers, so it becomes the cause. */
function refuseDamaged(error: unknown): never {
  const said = error instanceof Error ? error.message : String(error);
  if (/pixel limit/.test(said)) throw damageProblem('it has more pixels than are taken', error);
  throw damageProblem(/premature end/.test(said) ? IMAGE_FAULTS.short : IMAGE_FAULTS.undecodable, error);
}

/** @param fault the damage, worded to follow a colon */
export function damageProblem(fault: string, cause?: unknown): Problem {
  return new Problem('image-unreadable', {
    detail: FINISH_PROBLEMS['image-unreadable'].damaged(fault),
    received: fault,
    ...(cause !== undefined && { cause }),
  });
}

/** CMYK without the profile of its press does not define a colour, and every viewer reads it differently. */
export function cmykProblem(): Problem {
  return new Problem('image-colour-model', {
    detail: FINISH_PROBLEMS['image-colour-model'],
    expected: ['RGB', 'grey'],
    received: 'CMYK',
  });
}

function checkChannels(channels: number): 3 | 4 {
  if (channels !== 3 && channels !== 4) throw new Error(`it has ${channels} channels`);
  return channels;
}

/**
 * Makes a smaller image from evenly picked texels. The library weights by alpha when it shrinks an image, which loses
 * the colour of transparent texels.
 * @param sizePx longest side
 */
export function pickTexels(pixels: Pixels, sizePx: number): Pixels {
  const { data, widthPx, heightPx, channels } = pixels;
  const scale = sizePx / Math.max(widthPx, heightPx);
  if (scale >= 1) return pixels;
  const [width, height] = [widthPx, heightPx].map((side) => Math.max(1, Math.round(side * scale))) as [number, number];
  const out = Buffer.alloc(width * height * channels);
  let to = 0;
  for (let y = 0; y < height; y++) {
    const row = Math.floor(((y + 0.5) * heightPx) / height) * widthPx;
    for (let x = 0; x < width; x++) {
      const from = (row + Math.floor(((x + 0.5) * widthPx) / width)) * channels;
      for (let c = 0; c < channels; c++) out[to++] = data[from + c]!;
    }
  }
  return { data: out, widthPx: width, heightPx: height, channels };
}

/**
 * Fixed settings, so that the same pixels give the same bytes. Level 6 with a filter chosen for each row: a roughness map
 * of 2048 px took 0.6 s for 3.53 MB and a normal map 1.2 s for 3.72 MB. Level 9 without filters took 6.2 s for 4.03 MB and
 * 0.8 s for 5.57 MB; level 9 with filters 10.2 s for 3.55 MB and 5.8 s for 3.66 MB.
 */
const PNG = { compressionLevel: 6, adaptiveFiltering: true, palette: false } as const;

/** Quality of a rewritten JPEG, colour at full size: its mean then moves by less than ΔE00 0.2. */
const JPEG = { quality: 95, chromaSubsampling: '4:4:4' } as const;

/** A map as a lossless PNG without colour information. */
export function encodePng(pixels: Pixels): Promise<Buffer> {
  return openRaw(pixels).png(PNG).toBuffer();
}

/** A map as a JPEG without colour information. */
export function encodeJpeg(pixels: Pixels): Promise<Buffer> {
  return openRaw(pixels).jpeg(JPEG).toBuffer();
}

function openRaw({ data, widthPx, heightPx, channels }: Pixels) {
  return sharp(data, { raw: { width: widthPx, height: heightPx, channels } });
}
