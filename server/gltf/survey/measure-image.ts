import { sniffImage } from '../../core/picture/sniff-image.ts';
import { Problem } from '../../core/problems.ts';
import type { SurveyedImage } from '../../core/product/survey.ts';
import { readPixels } from '../read-pixels.ts';
import { measurePixels } from './measure-pixels.ts';
import { readJpegQuality } from './read-jpeg-quality.ts';

/** Longest side that is measured texel by texel; larger maps are thinned out, which moves a mean by less than a code. */
const MEASURED_PX = 2048;

/** What is in an image, why it cannot be read, and the quality it was written with. Never throws. */
export async function measureImage(
  bytes: Uint8Array | null,
): Promise<Pick<SurveyedImage, 'content' | 'undecodable' | 'jpegQuality'>> {
  const none = { content: null, undecodable: null, jpegQuality: null };
  if (!bytes) return { ...none, undecodable: 'its bytes are not in the file' };
  const mimeType = sniffImage(bytes);
  if (mimeType === 'image/ktx2' || isAvif(bytes)) return none;
  if (!mimeType) return { ...none, undecodable: 'its first bytes are those of no image format that glTF takes' };
  const jpegQuality = mimeType === 'image/jpeg' ? readJpegQuality(bytes) : null;
  try {
    return { content: measurePixels(await readPixels(bytes, MEASURED_PX)), undecodable: null, jpegQuality };
  } catch (error) {
    return { content: null, undecodable: sayWhy(error), jpegQuality };
  }
}

/** A file of the ISO base media format with AVIF's brand. */
function isAvif(bytes: Uint8Array): boolean {
  const text = String.fromCharCode(...bytes.subarray(4, 12));
  return text === 'ftypavif' || text === 'ftypavis';
}

/** The first line of what the decoder says, without a full stop. */
function sayWhy(error: unknown): string {
  if (error instanceof Problem && error.code === 'image-colour-model') {
    return 'it is CMYK, which is for print; glTF viewers take RGB and grey';
  }
  const [line = ''] = (error instanceof Error ? error.message : String(error)).split('\n');
  return line.trim().replace(/\.$/, '').slice(0, 200) || 'it cannot be decoded';
}
