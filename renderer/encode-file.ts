import type { FileEncoding } from '../server/core/picture/picture-set.ts';
import type { RawPicture } from '../server/core/ports/renderer.ts';
import { openPixels } from './open-pixels.ts';

/**
 * An image file that is handed on: the profile of sRGB is in it, since print work flows ask for one, and what it shows may
 * be too. PNG, WebP and TIFF keep a straight alpha channel where something is see-through; JPEG stands on white. TIFF is
 * packed without loss (Deflate, Adobe's number 8). Same pixels and encoding, same bytes.
 */
export async function encodeFile(raw: RawPicture, encoding: FileEncoding): Promise<Uint8Array> {
  const { format, quality = 90, lossless = false, ppi, xmp } = encoding;
  const ground = encoding.ground ?? (format === 'jpg' ? '#ffffff' : undefined);
  const opened = await openPixels(raw);
  let { image } = opened;
  if (opened.opaque) image = image.removeAlpha();
  else if (ground !== undefined) image = image.flatten({ background: ground });
  image = image.withIccProfile('srgb');
  if (ppi !== undefined) image = image.withMetadata({ density: ppi });
  if (xmp !== undefined) image = image.withXmp(xmp);
  switch (format) {
    case 'png':
      return image.png({ compressionLevel: 6, adaptiveFiltering: true }).toBuffer();
    case 'webp':
      return lossless
        ? image.webp({ lossless: true, exact: true, effort: 2 }).toBuffer()
        : image.webp({ quality, alphaQuality: 100, smartSubsample: true, effort: 3 }).toBuffer();
    case 'jpg':
      return image.jpeg({ quality, chromaSubsampling: '4:4:4' }).toBuffer();
    case 'tiff':
      return image
        .tiff({
          compression: 'deflate',
          predictor: 'horizontal',
          resolutionUnit: 'inch',
          ...(ppi && { xres: ppi / 25.4, yres: ppi / 25.4 }),
        })
        .toBuffer();
  }
}
