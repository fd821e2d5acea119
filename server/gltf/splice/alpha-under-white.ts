import sharp from 'sharp';
import { MAP_PIXEL_LIMIT } from '../../core/picture/picture.ts';

/**
 * The alpha of a colour map under plain white, as PNG, so that a finish's colour is all that is seen of it.
 * Null when every pixel is opaque: there is nothing to keep. All of it runs off the event loop.
 * @throws for what cannot be decoded, or has more pixels than are taken
 */
export async function alphaUnderWhite(image: Uint8Array): Promise<Uint8Array | null> {
  const options = { limitInputPixels: MAP_PIXEL_LIMIT };
  const { hasAlpha, width, height } = await sharp(image, options).metadata();
  if (!hasAlpha || (await sharp(image, options).stats()).isOpaque) return null;
  const { data, info } = await sharp(image, options)
    .toColourspace('srgb')
    .ensureAlpha()
    .extractChannel('alpha')
    .raw()
    .toBuffer({ resolveWithObject: true });
  const white = sharp({ create: { width, height, channels: 3, background: '#ffffff' } });
  return white
    .joinChannel(data, { raw: { width: info.width, height: info.height, channels: 1 } })
    .png({ compressionLevel: 9 })
    .toBuffer();
}
