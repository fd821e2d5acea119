import type { ConvertedColour, ImageEncoding } from '../core/finish/image-encoding.ts';
import { MAP_PIXEL_LIMIT } from '../core/picture/picture.ts';
import type { StoredImage } from '../core/ports/stores.ts';
import { Problem } from '../core/problems.ts';
import type { Context, MeasuredImage } from './context.ts';

/**
 * Takes in an image for the maps of finishes. What it will be used as is not known yet: an image in another colour space
 * than sRGB gets a converted copy beside it, which finishes refer to as their colour map.
 * @throws Problem `image-type`, `image-unreadable`, `image-colour-model`, `image-too-large`
 */
export async function addFile(context: Context, bytes: Uint8Array): Promise<StoredImage> {
  const mimeType = context.imaging.sniff(bytes);
  if (!mimeType) {
    throw new Problem('image-type', {
      detail: 'Maps are PNG, JPEG, WebP or KTX2, told by their first bytes. Export the map in one of these.',
      expected: ['image/png', 'image/jpeg', 'image/webp', 'image/ktx2'],
    });
  }
  const measured = await context.imaging.measure(bytes);
  const { widthPx, heightPx } = measured;
  if (widthPx * heightPx > MAP_PIXEL_LIMIT) {
    throw new Problem('image-too-large', {
      detail: `The image has ${widthPx} × ${heightPx} pixels; up to 8192 × 8192 are taken. A repeat of 2048 px is plenty.`,
      expected: MAP_PIXEL_LIMIT,
      received: widthPx * heightPx,
    });
  }
  const encoding = mimeType === 'image/ktx2' ? null : await takeEncoding(context, bytes, measured);
  const stored = await context.files.putBytes(bytes);
  const image: StoredImage = { ...stored, mimeType, widthPx, heightPx, encoding };
  await context.stores.putMapFacts(stored.sha256, measured.facts);
  await context.stores.addFile(image);
  return image;
}

/** Looks at the profile, and stores the converted copy where there has to be one. */
async function takeEncoding(
  { imaging, files, stores }: Pick<Context, 'imaging' | 'files' | 'stores'>,
  bytes: Uint8Array,
  { widthPx, heightPx, bitsPerChannel, hasProfile }: MeasuredImage,
): Promise<ImageEncoding> {
  const converted: ConvertedColour | null = hasProfile ? await imaging.convertToSrgb(bytes).catch(refuseProfile) : null;
  let asColour: string | null = null;
  if (converted?.png) {
    const copy = await files.putBytes(converted.png);
    const encoding: ImageEncoding = { profile: null, bitsPerChannel: 8, asColour: null, outside: null };
    await stores.addFile({ ...copy, mimeType: 'image/png', widthPx, heightPx, encoding });
    asColour = copy.sha256;
  }
  return { profile: converted?.profile ?? null, bitsPerChannel, asColour, outside: converted?.outside ?? null };
}

/** The pixels were read before; what is left to go wrong is the profile. */
function refuseProfile(cause: unknown): never {
  if (cause instanceof Problem) throw cause;
  throw new Problem('image-unreadable', {
    detail: 'The colour profile of the image is damaged. Convert the image to sRGB and export it again.',
    cause,
  });
}
