import type { RawPicture } from '../server/core/ports/renderer.ts';
import { openPixels } from './open-pixels.ts';

/** Formats of files that are handed on: those of pictures, and TIFF for print. */
export type FileFormat = 'png' | 'webp' | 'jpg' | 'tiff';

export interface FileOptions {
  readonly format: FileFormat;
  /** 1–100, for JPEG and WebP; 90 when absent. */
  readonly quality?: number;
  /** Pixels to the inch the file says it is meant for; none when absent. */
  readonly ppi?: number;
  /** An XMP packet (ISO 16684-1), as text. */
  readonly xmp?: string;
}

/**
 * An image file that is handed on: the profile of sRGB is in it, since print work flows ask for one, and what it shows may
 * be too. PNG, WebP and TIFF keep a straight alpha channel where something is see-through; JPEG stands on white. TIFF is
 * packed without loss (Deflate, Adobe's number 8). Same pixels and options, same bytes.
 */
export async function encodeFile(raw: RawPicture, options: FileOptions): Promise<Uint8Array> {
  const { format, quality = 90, ppi, xmp } = options;
  const opened = await openPixels(raw);
  let { image } = opened;
  if (format === 'jpg') image = image.flatten({ background: '#ffffff' });
  else if (opened.opaque) image = image.removeAlpha();
  image = image.withIccProfile('srgb');
  if (ppi !== undefined) image = image.withMetadata({ density: ppi });
  if (xmp !== undefined) image = image.withXmp(xmp);
  switch (format) {
    case 'png':
      return image.png({ compressionLevel: 6, adaptiveFiltering: true }).toBuffer();
    case 'webp':
      return image.webp({ quality, alphaQuality: 100, smartSubsample: true, effort: 3 }).toBuffer();
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
