import { sniffImage } from '../../../core/finish/map-image.ts';
import { Problem } from '../../../core/problems.ts';
import type { SurveyedImage } from '../../../core/product/survey.ts';
import { findKtx2Fault } from '../../../images/check-ktx2.ts';
import { measurePixels } from '../../../images/measure-pixels.ts';
import { readJpegQuality } from '../../../images/read-header.ts';
import { readPixels } from '../../../images/read-pixels.ts';

/** Longest side that is measured texel by texel; larger maps are thinned out, which moves a mean by less than a code. */
const MEASURED_PX = 2048;

type Measured = Pick<SurveyedImage, 'content' | 'undecodable' | 'damaged' | 'jpegQuality'>;

/**
 * What is in an image, why it cannot be read, whether a viewer can show it, and the quality it was written with. Each image
 * is decoded once, KTX2 and AVIF too, whose content is not measured. Never throws.
 */
export async function measureImage(bytes: Uint8Array | null): Promise<Measured> {
  const none: Measured = { content: null, undecodable: null, damaged: false, jpegQuality: null };
  // it may be in a buffer that is not read here
  if (!bytes) return { ...none, undecodable: 'its bytes are not in the file' };
  const mimeType = sniffImage(bytes);
  if (mimeType === 'image/ktx2') {
    const undecodable = await findKtx2Fault(bytes);
    return { ...none, undecodable, damaged: undecodable !== null };
  }
  if (!mimeType && !isAvif(bytes)) {
    const undecodable = 'its first bytes are those of no image format that glTF takes';
    return { ...none, undecodable, damaged: !isShownAllTheSame(bytes) };
  }
  const jpegQuality = mimeType === 'image/jpeg' ? readJpegQuality(bytes) : null;
  try {
    const pixels = await readPixels(bytes, MEASURED_PX);
    return { ...none, content: mimeType ? measurePixels(pixels) : null, jpegQuality };
  } catch (error) {
    return { ...none, undecodable: sayWhy(error), damaged: !isCmyk(error), jpegQuality };
  }
}

/** A file of the ISO base media format with AVIF's brand. */
function isAvif(bytes: Uint8Array): boolean {
  const text = String.fromCharCode(...bytes.subarray(4, 12));
  return text === 'ftypavif' || text === 'ftypavis';
}

/** GIF and BMP, which glTF does not take, and browsers show. */
function isShownAllTheSame(bytes: Uint8Array): boolean {
  return /^(GIF8|BM)/.test(String.fromCharCode(...bytes.subarray(0, 4)));
}

const isCmyk = (error: unknown) => error instanceof Problem && error.code === 'image-colour-model';

/** In words that go on after a colon. */
function sayWhy(error: unknown): string {
  if (isCmyk(error)) return 'it is CMYK, which is for print; glTF viewers take RGB and grey';
  return error instanceof Problem ? String(error.more.received) : 'it cannot be decoded';
}
