import sharp from 'sharp';
import { MAP_PIXEL_LIMIT } from '../core/picture/picture.ts';
import { READ_OPTIONS, refuseCmyk } from './read-pixels.ts';

interface ImageFileFacts {
  readonly widthPx: number;
  readonly heightPx: number;
  readonly bitsPerChannel: 8 | 16;
  readonly hasProfile: boolean;
}

/**
 * What the header of an uploaded PNG, JPEG or WebP says. One decode, off the event loop, tells whether the rest is there;
 * it is left out for an image of more pixels than are taken.
 * @throws Problem `image-colour-model` for CMYK; an error for an image that cannot be decoded
 */
export async function measureImageFile(bytes: Uint8Array): Promise<ImageFileFacts> {
  const header = sharp(bytes, { ...READ_OPTIONS, limitInputPixels: false });
  const { width, height, depth, space, hasProfile } = await header.metadata();
  if (space === 'cmyk') throw refuseCmyk();
  // stricter than the reading of models: whoever uploads an image can still export it again
  if (width * height <= MAP_PIXEL_LIMIT) await sharp(bytes, { ...READ_OPTIONS, failOn: 'warning' }).stats();
  return { widthPx: width, heightPx: height, bitsPerChannel: depth === 'ushort' ? 16 : 8, hasProfile };
}
