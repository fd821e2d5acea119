import { MAP_PIXEL_LIMIT } from '../core/picture/picture.ts';
import type { StoredImage } from '../core/ports/stores.ts';
import { Problem } from '../core/problems.ts';
import type { Context } from './context.ts';

/**
 * Takes in an image for the maps of finishes.
 * @throws Problem `image-type`, `image-unreadable`, `image-too-large`
 */
export async function addFile(context: Context, bytes: Uint8Array): Promise<StoredImage> {
  const mimeType = context.imaging.sniff(bytes);
  if (!mimeType) {
    throw new Problem('image-type', {
      detail: 'Maps are PNG, JPEG, WebP or KTX2, told by their first bytes. Export the map in one of these.',
      expected: ['image/png', 'image/jpeg', 'image/webp', 'image/ktx2'],
    });
  }
  const size = await context.imaging.measure(bytes).catch((cause: unknown) => {
    throw new Problem('image-unreadable', {
      detail: 'The image begins as one should and cannot be read on. Export it again.',
      cause,
    });
  });
  if (size.widthPx * size.heightPx > MAP_PIXEL_LIMIT) {
    throw new Problem('image-too-large', {
      detail: `The image has ${size.widthPx} × ${size.heightPx} pixels; up to 8192 × 8192 are taken. A repeat of 2048 px is plenty.`,
      expected: MAP_PIXEL_LIMIT,
      received: size.widthPx * size.heightPx,
    });
  }
  const stored = await context.files.putBytes(bytes);
  const image: StoredImage = { ...stored, mimeType, ...size };
  await context.stores.addFile(image);
  return image;
}
