import { sniffImage } from '../../../core/finish/map-image.ts';
import { MAP_PIXEL_LIMIT } from '../../../core/picture/picture.ts';
import type { RepairOf } from '../../../core/repair/repair.ts';
import { readImageSize } from '../../../images/read-header.ts';
import { declareImageFormats } from '../../document/extensions.ts';
import { findImageBytes } from '../../document/image-bytes.ts';
import type { GltfJson, TextureJson } from '../../document/json.ts';
import { listSources } from '../../document/texture-uses.ts';
import type { ModelEdit } from '../edit/model-edit.ts';
import { joinNames } from '../edit/pick-materials.ts';
import { done, nothingToDo, type Repairer, unfit } from '../repairer.ts';
import { DEFAULT_QUALITY, type FittedImage, fitImage, type ImageUse, listImageUses } from './fit-image.ts';

/** Enough for a product that fills a large screen (common practice). */
const DEFAULT_SIZE_PX = 2048;
const WEBP = 'EXT_texture_webp';

/**
 * Reduces the images of materials to a size and converts them to a format; never enlarges them. Leaves images that no
 * material uses to `strip-unused`.
 */
export const fitTextures: Repairer<'fit-textures'> = {
  async apply(edit, repair) {
    const sizePx = repair.sizePx ?? DEFAULT_SIZE_PX;
    const wrong = check(sizePx, repair.quality ?? DEFAULT_QUALITY);
    if (wrong) return unfit(wrong);
    const uses = listImageUses(edit.json);
    if (uses.size === 0) return nothingToDo('No material of the model has a map.');
    const tally: Tally = { fitted: new Map(), kept: 0, compressed: 0, unread: [], bytesBefore: 0 };
    const paired = listPaired(edit.json);
    // one after the other, so that only one is decoded in memory
    for (const [image, use] of [...uses].sort(([a], [b]) => a - b)) {
      await fitOne(edit, image, use, { ...repair, sizePx, ...(paired.has(image) ? { format: 'keep' } : {}) }, tally);
    }
    const left = sayLeft(tally);
    if (tally.fitted.size === 0) return nothingToDo(`No image of ${uses.size} can be made smaller this way.${left}`);
    let bytesAfter = 0;
    for (const [image, { bytes, mimeType }] of tally.fitted) {
      bytesAfter += bytes.length;
      replaceImage(edit, image, bytes, mimeType);
    }
    declareImageFormats(edit.json);
    const { fitted, bytesBefore } = tally;
    return done(
      `${fitted.size} of ${uses.size} images were fitted to ${sizePx} px at most: ${sayMB(bytesBefore)} became ` +
        `${sayMB(bytesAfter)}.${left}`,
      { images: fitted.size, sizePx, bytesBefore, bytesAfter },
    );
  },
};

function check(sizePx: number, quality: number): string | null {
  const limit = Math.sqrt(MAP_PIXEL_LIMIT);
  if (!(Number.isInteger(sizePx) && sizePx >= 1 && sizePx <= limit)) {
    return `The size is ${sizePx} px, but must be a whole number from 1 to ${limit}. Correct it.`;
  }
  if (!(Number.isInteger(quality) && quality >= 1 && quality <= 100)) {
    return `The quality is ${quality}, but must be a whole number from 1 to 100. Correct it.`;
  }
  return null;
}

interface Tally {
  readonly fitted: Map<number, FittedImage>;
  kept: number;
  compressed: number;
  readonly unread: number[];
  /** Bytes of the replaced images. */
  bytesBefore: number;
}

async function fitOne(
  { loaded }: ModelEdit,
  image: number,
  use: ImageUse,
  options: RepairOf<'fit-textures'> & { readonly sizePx: number },
  tally: Tally,
): Promise<void> {
  const bytes = findImageBytes(loaded, image);
  const mimeType = bytes && sniffImage(bytes);
  if (mimeType === 'image/ktx2') {
    tally.compressed++;
    return;
  }
  const size = bytes && mimeType && readImageSize(bytes, mimeType);
  try {
    if (!bytes || !mimeType || !size) throw new Error('not an image that is read here');
    const fitted = await fitImage(bytes, mimeType, size, use, options);
    if (fitted) {
      tally.fitted.set(image, fitted);
      tally.bytesBefore += bytes.length;
    } else tally.kept++;
  } catch {
    tally.unread.push(image);
  }
}

/** Images of textures that offer the same image in two formats. */
function listPaired(json: GltfJson): Set<number> {
  const pairs = (json.textures ?? []).map(listSources).filter((sources) => sources.length > 1);
  return new Set(pairs.flat());
}

/** Replaces the bytes of an image, and updates its textures for the format. */
function replaceImage(edit: ModelEdit, index: number, bytes: Buffer, mimeType: FittedImage['mimeType']): void {
  const { json } = edit;
  const { uri: _, ...image } = json.images![index]!;
  json.images![index] = { ...image, mimeType, bufferView: edit.addView(bytes) };
  for (const texture of json.textures ?? []) {
    const sources = listSources(texture);
    if (sources.length === 1 && sources[0] === index) setSource(texture, index, mimeType === 'image/webp');
  }
}

function setSource(texture: TextureJson, image: number, isWebp: boolean): void {
  const { [WEBP]: webp, ...others } = texture.extensions ?? {};
  delete texture.source;
  delete texture.extensions;
  if (isWebp) texture.extensions = { ...others, [WEBP]: { ...webp, source: image } };
  else {
    texture.source = image;
    if (Object.keys(others).length > 0) texture.extensions = others;
  }
}

function sayLeft({ kept, compressed, unread }: Tally): string {
  const left = [
    ...(kept > 0 ? [`${kept} as they are: small enough, or only to grow by it`] : []),
    ...(compressed > 0 ? [`${compressed} in KTX2, which is not written here`] : []),
    ...(unread.length > 0
      ? [`${joinNames(unread.map((image) => `/images/${image}`))}, which cannot be read here`]
      : []),
  ];
  return left.length > 0 ? ` Left: ${left.join('; ')}.` : '';
}

const sayMB = (bytes: number) =>
  bytes < 100_000 ? `${(bytes / 1e3).toFixed(1)} kB` : `${(bytes / 1e6).toFixed(2)} MB`;
