import sharp from 'sharp';
import { findLevelledType, type LevelTables } from '../core/finish/level-map.ts';
import { sniffImage } from '../core/picture/sniff-image.ts';
import type { MapFile } from '../core/ports/models.ts';
import { encodePng } from './encode-png.ts';
import { readPixels } from './read-pixels.ts';

/** A JPEG is written again at this quality, colour at full size: its mean then moves by less than ΔE00 0.2. */
const JPEG = { quality: 95, chromaSubsampling: '4:4:4' } as const;

/**
 * Re-encodes a colour map through tables of codes: some tenths of a second for 2048 × 2048 texels, to be run in a worker by
 * who serves others meanwhile. Alpha stays. The type is that of `findLevelledType`. The same input gives the same bytes.
 * @throws for what cannot be decoded
 */
export async function levelImage(image: Uint8Array, tables: LevelTables): Promise<MapFile> {
  const { data, widthPx, heightPx, channels } = await readPixels(image);
  for (let i = 0; i < data.length; i += channels) {
    data[i] = tables[0][data[i]!]!;
    data[i + 1] = tables[1][data[i + 1]!]!;
    data[i + 2] = tables[2][data[i + 2]!]!;
  }
  const mimeType = findLevelledType(sniffImage(image) ?? '');
  if (mimeType === 'image/png') return { bytes: await encodePng({ data, widthPx, heightPx, channels }), mimeType };
  const levelled = sharp(data, { raw: { width: widthPx, height: heightPx, channels } });
  return { bytes: await levelled.jpeg(JPEG).toBuffer(), mimeType };
}
