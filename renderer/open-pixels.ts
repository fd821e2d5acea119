import type { Sharp } from 'sharp';
import type { RawPicture } from '../server/core/ports/renderer.ts';
import { isOpaque } from './pixels/is-opaque.ts';

/** Raw pixels as an image to be encoded, and whether nothing of it is see-through. The pixels are not copied. */
export async function openPixels(raw: RawPicture): Promise<{ readonly image: Sharp; readonly opaque: boolean }> {
  const { default: sharp } = await import('sharp');
  const { buffer, byteOffset, byteLength } = raw.rgba;
  const image = sharp(new Uint8Array(buffer, byteOffset, byteLength), {
    raw: { width: raw.widthPx, height: raw.heightPx, channels: 4 },
  });
  return { image, opaque: raw.opaque ?? isOpaque(raw.rgba) };
}
