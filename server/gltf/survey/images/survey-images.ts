import { sniffImage } from '../../../core/finish/map-image.ts';
import { MAP_PIXEL_LIMIT } from '../../../core/picture/picture.ts';
import { Problem } from '../../../core/problems.ts';
import type { SurveyedImage } from '../../../core/product/survey.ts';
import { IMAGE_FAULTS } from '../../../core/texts/image-faults.ts';
import { MODEL_PROBLEMS } from '../../../core/texts/problems/model.ts';
import { findKtx2Fault } from '../../../images/find-image-fault.ts';
import { readPixels } from '../../../images/image-codec.ts';
import { measurePixels } from '../../../images/measure-pixels.ts';
import { readImageSize, readJpegQuality } from '../../../images/read-header.ts';
import type { GltfJson } from '../../document/json.ts';
import type { LoadedModel } from '../../document/read-accessor.ts';
import { listSources, listTextureUses } from '../../document/read-material.ts';
import { findImageBytes } from '../../document/stored-bytes.ts';
import { listMisplaced } from '../../mend/mend-textures.ts';

/**
 * Surveys every image: size in pixels, bytes, uses and content. Decodes images one after another, each once, so that only one
 * is unpacked in memory.
 * @throws Problem `image-too-large`, before any is decoded
 */
export async function surveyImages(model: LoadedModel): Promise<SurveyedImage[]> {
  const images: SurveyedImage[] = [];
  for (const listed of listImages(model)) {
    const { bufferView, uri } = model.json.images![listed.index]!;
    const measured = await measureImage(findImageBytes(model, listed.index));
    // images in other buffers are not read here; an image without bytes is damaged
    images.push({ ...listed, ...measured, damaged: measured.damaged || (bufferView ?? uri) === undefined });
  }
  return images;
}

function listImages(model: LoadedModel): Omit<SurveyedImage, keyof Awaited<ReturnType<typeof measureImage>>>[] {
  const uses = listUses(model.json);
  const files = (model.json.images ?? []).map((image, index) => {
    const bytes = findImageBytes(model, index);
    const sniffed = bytes && sniffImage(bytes);
    return {
      bytes: bytes?.length ?? 0,
      mimeType: sniffed ?? image.mimeType ?? null,
      size: sniffed && readImageSize(bytes, sniffed),
    };
  });
  const misplaced = new Set(
    (model.json.textures ?? []).flatMap((texture) => listMisplaced(texture, (image) => files[image]?.mimeType ?? null)),
  );
  return (model.json.images ?? []).map((image, index) => {
    const { bytes, mimeType, size } = files[index]!;
    if (size && size.widthPx * size.heightPx > MAP_PIXEL_LIMIT) {
      throw new Problem('image-too-large', {
        detail: MODEL_PROBLEMS['image-too-large'](index, size.widthPx, size.heightPx),
        expected: MAP_PIXEL_LIMIT,
        received: size.widthPx * size.heightPx,
        where: `/images/${index}`,
      });
    }
    return {
      index,
      name: typeof image.name === 'string' ? image.name.slice(0, 200) : '',
      mimeType,
      widthPx: size?.widthPx ?? null,
      heightPx: size?.heightPx ?? null,
      bytes,
      usedBy: uses.get(index) ?? [],
      misplaced: misplaced.has(index),
    };
  });
}

function listUses(json: GltfJson): Map<number, string[]> {
  const uses = new Map<number, string[]>();
  json.materials?.forEach((material, i) => {
    for (const { use, info } of listTextureUses(material)) {
      for (const image of listSources(json.textures![info.index]!)) {
        const list = uses.get(image) ?? [];
        list.push(`materials/${i}/${use.replaceAll('.', '/')}`);
        uses.set(image, list);
      }
    }
  });
  return uses;
}

/** Longest side in pixels that is measured texel by texel. Larger maps are thinned out, which moves a mean by less than a code. */
const MEASURED_PX = 2048;

type Measured = Pick<SurveyedImage, 'content' | 'undecodable' | 'damaged' | 'jpegQuality'>;

/**
 * Measures the content of an image, why it cannot be read, whether a viewer can show it, and its JPEG quality. Decodes the image
 * once, also KTX2 and AVIF, whose content is not measured. Never throws.
 */
export async function measureImage(bytes: Uint8Array | null): Promise<Measured> {
  const none: Measured = { content: null, undecodable: null, damaged: false, jpegQuality: null };
  // the bytes may be in a buffer that is not read here
  if (!bytes) return { ...none, undecodable: IMAGE_FAULTS.missing };
  const mimeType = sniffImage(bytes);
  if (mimeType === 'image/ktx2') {
    const undecodable = await findKtx2Fault(bytes);
    return { ...none, undecodable, damaged: undecodable !== null };
  }
  if (!mimeType && !isAvif(bytes)) {
    const undecodable = IMAGE_FAULTS.unknownFormat;
    return { ...none, undecodable, damaged: !isShownByBrowsers(bytes) };
  }
  const jpegQuality = mimeType === 'image/jpeg' ? readJpegQuality(bytes) : null;
  try {
    const pixels = await readPixels(bytes, MEASURED_PX);
    return { ...none, content: mimeType ? measurePixels(pixels) : null, jpegQuality };
  } catch (error) {
    return { ...none, undecodable: describeFault(error), damaged: !isCmyk(error), jpegQuality };
  }
}

/** A file of the ISO base media format with AVIF's brand. */
function isAvif(bytes: Uint8Array): boolean {
  const text = String.fromCharCode(...bytes.subarray(4, 12));
  return text === 'ftypavif' || text === 'ftypavis';
}

/** GIF and BMP, which glTF does not allow, but browsers show. */
function isShownByBrowsers(bytes: Uint8Array): boolean {
  return /^(GIF8|BM)/.test(String.fromCharCode(...bytes.subarray(0, 4)));
}

const isCmyk = (error: unknown) => error instanceof Problem && error.code === 'image-colour-model';

/** The fault, worded to follow a colon. */
function describeFault(error: unknown): string {
  if (isCmyk(error)) return IMAGE_FAULTS.cmyk;
  return error instanceof Problem ? String(error.more.received) : 'it cannot be decoded';
}
