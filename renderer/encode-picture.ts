import type { ImageFormat } from '../server/core/picture/picture.ts';
import type { RawPicture } from '../server/core/ports/renderer.ts';
import { openPixels } from './open-pixels.ts';
import { writePng } from './pixels/write-png.ts';

export interface EncodeOptions {
  /** WebP without loss, for chips whose colour is a promise. PNG always is, JPEG never. */
  readonly lossless?: boolean;
}

/**
 * Turns raw pixels into an image file: WebP and JPEG off the event loop, PNG in the thread that calls. Same pixels, same
 * bytes. Files are sRGB and carry no profile: what has none is read as sRGB, by the web's rules and in print work flows
 * alike.
 */
export async function encodePicture(
  raw: RawPicture,
  format: ImageFormat,
  options: EncodeOptions = {},
): Promise<Uint8Array> {
  if (format === 'png') return writePng(raw);
  const { image, opaque } = await openPixels(raw);
  if (format === 'jpg') {
    // no alpha in JPEG: what is see-through stands on white; 4:4:4, since finishes have saturated edges; at 1024 px
    // 11–21 ms, and by mozjpeg 94–143 ms for 10–20 % less
    return image.flatten({ background: '#ffffff' }).jpeg({ quality: 90, chromaSubsampling: '4:4:4' }).toBuffer();
  }
  if (opaque) image.removeAlpha();
  if (options.lossless) return image.webp({ lossless: true, exact: true, effort: 2 }).toBuffer();
  // at 1024 px on white and on clear ground: effort 2 took 37 and 117–180 ms, 0 took 26–35 and 64–109 ms for 15–50 and
  // 35–80 % more, 3 took 75–87 and 190–202 ms for 4 % less; the sharper subsampling of colour took 140 ms more in all of
  // them and left 2–5 % less of an error of 1–4 levels (root mean square)
  return image.webp({ quality: 90, alphaQuality: 100, effort: 2 }).toBuffer();
}
