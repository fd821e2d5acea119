import sharp, { type SharpOptions } from 'sharp';
import { MAP_PIXEL_LIMIT } from '../core/picture/picture.ts';

/** Pixels of an image as 8-bit codes in its own encoding: red, green, blue, and alpha where there is one. */
export interface Pixels {
  readonly data: Buffer;
  readonly widthPx: number;
  readonly heightPx: number;
  readonly channels: 3 | 4;
}

/**
 * How images of models are read: profiles inside them are passed over, as glTF 2.0 §3.8.3 asks; what is cut short or
 * damaged is refused, while a remark that libraries make of a whole image does not make it unreadable.
 */
export const READ_OPTIONS: SharpOptions = { limitInputPixels: MAP_PIXEL_LIMIT, ignoreIcc: true, failOn: 'error' };

/**
 * Decodes an image. Larger ones than `sizePx` are thinned out: texels are picked, never mixed, so that what is constant,
 * opaque or of unit length stays so.
 * @throws for what cannot be decoded, or has more pixels than are taken
 */
export async function readPixels(image: Uint8Array, sizePx?: number): Promise<Pixels> {
  const reader = sharp(image, READ_OPTIONS).toColourspace('srgb');
  if (sizePx !== undefined) {
    reader.resize(sizePx, sizePx, { fit: 'inside', kernel: 'nearest', withoutEnlargement: true });
  }
  const { data, info } = await reader.raw().toBuffer({ resolveWithObject: true });
  if (info.channels !== 3 && info.channels !== 4) throw new Error(`it has ${info.channels} channels`);
  return { data, widthPx: info.width, heightPx: info.height, channels: info.channels };
}
