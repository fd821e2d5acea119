import sharp from 'sharp';

/**
 * The alpha of a colour map under plain white, as PNG, so that a finish's colour is all that is seen of it.
 * Null when every pixel is opaque: there is nothing to keep.
 */
export async function alphaUnderWhite(image: Uint8Array): Promise<Uint8Array | null> {
  const source = sharp(image);
  const { hasAlpha } = await source.metadata();
  if (!hasAlpha) return null;
  const { data, info } = await source
    .ensureAlpha()
    .toColourspace('srgb')
    .extractChannel('alpha')
    .raw()
    .toBuffer({ resolveWithObject: true });
  if (data.every((value) => value === 255)) return null;
  const white = Buffer.alloc(info.width * info.height * 4, 255);
  for (let i = 0; i < data.length; i++) white[i * 4 + 3] = data[i]!;
  return sharp(white, { raw: { width: info.width, height: info.height, channels: 4 } })
    .png({ compressionLevel: 9 })
    .toBuffer();
}
