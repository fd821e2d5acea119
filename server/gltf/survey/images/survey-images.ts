import { sniffImage } from '../../../core/finish/map-image.ts';
import { MAP_PIXEL_LIMIT } from '../../../core/picture/picture.ts';
import { Problem } from '../../../core/problems.ts';
import type { SurveyedImage } from '../../../core/product/survey.ts';
import { MODEL_PROBLEMS } from '../../../core/texts/problems/model.ts';
import { readImageSize } from '../../../images/read-header.ts';
import { findImageBytes } from '../../document/image-bytes.ts';
import type { GltfJson } from '../../document/json.ts';
import type { LoadedModel } from '../../document/read-accessor.ts';
import { listSources, listTextureUses } from '../../document/texture-uses.ts';
import { listMisplaced } from '../../mend/mend-textures.ts';
import { measureImage } from './measure-image.ts';

/**
 * Every image with its size in pixels, its bytes, what uses it and what is in it. Images are decoded one after another,
 * each once, so that no more than one is unpacked in memory.
 * @throws Problem `image-too-large`, before any is decoded
 */
export async function surveyImages(model: LoadedModel): Promise<SurveyedImage[]> {
  const images: SurveyedImage[] = [];
  for (const listed of listImages(model)) {
    const { bufferView, uri } = model.json.images![listed.index]!;
    const measured = await measureImage(findImageBytes(model, listed.index));
    // an image of another buffer is not read here; one that is nowhere is read by nobody
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
