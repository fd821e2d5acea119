import sharp from 'sharp';
import type { MapFacts } from '../core/finish/map-facts.ts';
import { MAP_PIXEL_LIMIT } from '../core/picture/picture.ts';
import { sniffImage } from '../core/picture/sniff-image.ts';
import { findKtx2Fault } from './check-ktx2.ts';
import { measureMap } from './measure-map.ts';
import { damaged, READ_OPTIONS, refuseCmyk } from './read-pixels.ts';
import { sizeImage } from './size-image.ts';

export interface ImageFileFacts {
  readonly widthPx: number;
  readonly heightPx: number;
  readonly bitsPerChannel: 8 | 16;
  readonly hasProfile: boolean;
  /** What is in it as a map; null for KTX2, and for an image of more pixels than are taken, which is not decoded. */
  readonly facts: MapFacts | null;
}

/**
 * Reads an uploaded image: its header, then all of it, once, by a decoder as strict as a browser's. Tenths of a second for
 * 2048 × 2048 texels, to be run in a worker by who serves others meanwhile.
 * @throws Problem `image-colour-model` for CMYK, `image-unreadable` for an image that cannot be decoded
 */
export async function measureImageFile(bytes: Uint8Array): Promise<ImageFileFacts> {
  const mimeType = sniffImage(bytes);
  if (mimeType === 'image/ktx2') {
    const size = sizeImage(bytes, mimeType);
    if (!size) throw damaged('its header states no size');
    if (isTaken(size)) await refuseBrokenKtx2(bytes);
    return { ...size, bitsPerChannel: 8, hasProfile: false, facts: null };
  }
  const header = sharp(bytes, { ...READ_OPTIONS, limitInputPixels: false });
  const { width, height, depth, space, hasProfile } = await header.metadata().catch((error: unknown) => {
    throw damaged('its header cannot be read', error);
  });
  if (space === 'cmyk') throw refuseCmyk();
  const size = { widthPx: width, heightPx: height };
  const facts = isTaken(size) ? await measureMap(bytes, 'strict') : null;
  return { ...size, bitsPerChannel: depth === 'ushort' ? 16 : 8, hasProfile, facts };
}

function isTaken({ widthPx, heightPx }: { readonly widthPx: number; readonly heightPx: number }): boolean {
  return widthPx * heightPx <= MAP_PIXEL_LIMIT;
}

/**
 * As `measureMap`, for an image that was stored before: null for KTX2, which is decoded and not measured.
 * @throws as `readPixels`
 */
export async function measureStoredFile(bytes: Uint8Array): Promise<MapFacts | null> {
  if (sniffImage(bytes) !== 'image/ktx2') return measureMap(bytes);
  await refuseBrokenKtx2(bytes);
  return null;
}

async function refuseBrokenKtx2(bytes: Uint8Array): Promise<void> {
  const fault = await findKtx2Fault(bytes);
  if (fault !== null) throw damaged(fault);
}
