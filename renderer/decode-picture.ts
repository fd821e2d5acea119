import type { RawPicture } from '../server/core/ports/renderer.ts';

/** The pixels of an image file, as they stand in it: no profile is followed. Off the event loop. */
export async function decodePicture(bytes: Uint8Array): Promise<RawPicture> {
  const { default: sharp } = await import('sharp');
  const { data, info } = await sharp(bytes, { ignoreIcc: true })
    .ensureAlpha()
    .raw()
    .toBuffer({ resolveWithObject: true });
  return { widthPx: info.width, heightPx: info.height, rgba: data };
}
