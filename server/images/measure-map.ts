import sharp from 'sharp';
import { meanOf } from '../core/finish/level-map.ts';
import { type MapFacts, type Seam, sniffImage } from '../core/finish/map-image.ts';
import { MAP_PIXEL_LIMIT } from '../core/picture/picture.ts';
import { findKtx2Fault } from './find-image-fault.ts';
import {
  cmykProblem,
  damageProblem,
  type Pixels,
  pickTexels,
  READ_OPTIONS,
  readPixels,
  type Strictness,
} from './image-codec.ts';
import { countCodes, measurePixels } from './measure-pixels.ts';
import { readImageSize } from './read-header.ts';

export interface ImageFileFacts {
  readonly widthPx: number;
  readonly heightPx: number;
  readonly bitsPerChannel: 8 | 16;
  readonly hasProfile: boolean;
  /** Its content as a map; null for KTX2, and for an image above the pixel limit, which is not decoded. */
  readonly facts: MapFacts | null;
}

/**
 * Reads an uploaded image: its header, then all of it once, with a decoder as strict as a browser's. It takes tenths of a
 * second for 2048 × 2048 texels, so a service runs it in a worker.
 * @throws Problem `image-colour-model` for CMYK, `image-unreadable` for an image that cannot be decoded
 */
export async function measureImageFile(bytes: Uint8Array): Promise<ImageFileFacts> {
  const mimeType = sniffImage(bytes);
  if (mimeType === 'image/ktx2') {
    const size = readImageSize(bytes, mimeType);
    if (!size) throw damageProblem('its header states no size');
    if (isWithinLimit(size)) await refuseBrokenKtx2(bytes);
    return { ...size, bitsPerChannel: 8, hasProfile: false, facts: null };
  }
  // the library throws at once for no bytes, before there is a promise to catch
  if (bytes.length === 0) throw damageProblem('its header cannot be read');
  const header = sharp(bytes, { ...READ_OPTIONS, limitInputPixels: false });
  const { width, height, depth, space, hasProfile } = await header.metadata().catch((error: unknown) => {
    throw damageProblem('its header cannot be read', error);
  });
  if (space === 'cmyk') throw cmykProblem();
  const size = { widthPx: width, heightPx: height };
  const facts = isWithinLimit(size) ? await measureMap(bytes, 'strict') : null;
  return { ...size, bitsPerChannel: depth === 'ushort' ? 16 : 8, hasProfile, facts };
}

function isWithinLimit({ widthPx, heightPx }: { readonly widthPx: number; readonly heightPx: number }): boolean {
  return widthPx * heightPx <= MAP_PIXEL_LIMIT;
}

/**
 * Like `measureMap`, for a stored image. Null for KTX2, which is decoded but not measured.
 * @throws as `readPixels`
 */
export async function measureStoredFile(bytes: Uint8Array): Promise<MapFacts | null> {
  if (sniffImage(bytes) !== 'image/ktx2') return measureMap(bytes);
  await refuseBrokenKtx2(bytes);
  return null;
}

async function refuseBrokenKtx2(bytes: Uint8Array): Promise<void> {
  const fault = await findKtx2Fault(bytes);
  if (fault !== null) throw damageProblem(fault);
}

/**
 * Longest side in pixels that is measured texel by texel. Of a larger map, texels are picked evenly. They have the same
 * distance across the edges as inside, so the seam is measured correctly.
 */
const MEASURED_PX = 2048;

/** Codes by which red, green and blue of a grey texel may differ, since encoders subsample colour. */
const GREY_CODES = 4;

/**
 * Measures an uploaded PNG, JPEG or WebP as a map. It takes some tenths of a second for 2048 × 2048 texels, so a service
 * runs it in a worker.
 * @throws as `readPixels`
 */
export async function measureMap(bytes: Uint8Array, strictness?: Strictness): Promise<MapFacts> {
  const all = await readPixels(bytes, undefined, strictness);
  // counts every texel, since a weave may be in step with an even grid of samples; other values need fewer texels
  const codes = countCodes(all);
  const pixels = pickTexels(all, MEASURED_PX);
  const { channels, constant, normal } = measurePixels(pixels);
  const alpha = channels[3];
  return {
    content: {
      linearMean: meanOf(codes),
      codes,
      channels: channels.map(({ min, max, mean }) => ({ min, max, mean })),
      grey: isGrey(pixels),
      alphaVaries: alpha !== undefined && alpha.min !== alpha.max,
      constant,
      normal,
    },
    seams: measureSeams(pixels),
  };
}

function isGrey({ data, channels }: Pixels): boolean {
  for (let i = 0; i < data.length; i += channels) {
    const [red, green, blue] = [data[i]!, data[i + 1]!, data[i + 2]!];
    if (Math.max(red, green, blue) - Math.min(red, green, blue) > GREY_CODES) return false;
  }
  return true;
}

/** Measures the steps between neighbouring columns and rows, without alpha. */
function measureSeams({ data, widthPx, heightPx, channels }: Pixels): MapFacts['seams'] {
  // sums of the steps to the next column or row; after the last comes the first
  const columns = new Float64Array(widthPx);
  const rows = new Float64Array(heightPx);
  const stride = widthPx * channels;
  for (let y = 0; y < heightPx; y++) {
    const row = y * stride;
    const below = y + 1 === heightPx ? 0 : row + stride;
    let down = 0;
    for (let x = 0; x < widthPx; x++) {
      const at = x * channels;
      const i = row + at;
      const right = x + 1 === widthPx ? row : i + channels;
      const under = below + at;
      columns[x]! +=
        Math.abs(data[right]! - data[i]!) +
        Math.abs(data[right + 1]! - data[i + 1]!) +
        Math.abs(data[right + 2]! - data[i + 2]!);
      down +=
        Math.abs(data[under]! - data[i]!) +
        Math.abs(data[under + 1]! - data[i + 1]!) +
        Math.abs(data[under + 2]! - data[i + 2]!);
    }
    rows[y] = down;
  }
  return { leftRight: toSeam(columns, heightPx), topBottom: toSeam(rows, widthPx) };
}

function toSeam(sums: Float64Array, texels: number): Seam | null {
  const inside = sums.length - 1;
  if (inside < 1) return null;
  const scale = 1 / (texels * 3 * 255);
  let sum = 0;
  let strongest = 0;
  for (let i = 0; i < inside; i++) {
    sum += sums[i]!;
    strongest = Math.max(strongest, sums[i]!);
  }
  return { step: sums[inside]! * scale, inner: (sum / inside) * scale, strongest: strongest * scale };
}
