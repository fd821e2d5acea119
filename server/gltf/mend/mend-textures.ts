import type { SurveyedImage } from '../../core/product/survey.ts';
import { declareImageFormats, IMAGE_FORMATS } from '../document/extensions.ts';
import type { GltfJson, TextureJson } from '../document/json.ts';
import { dropTexture, listSources, listTextureUses, resetFactor } from '../document/read-material.ts';

const BASISU = 'KHR_texture_basisu';
const KTX2 = 'image/ktx2';

/** The facts about an image that this needs. */
type ImageFacts = Pick<SurveyedImage, 'mimeType' | 'damaged'>;

/** Images of a texture that viewers would read as the wrong format. */
export function listMisplaced(texture: TextureJson, mimeOf: (image: number) => string | null): number[] {
  const compressed = texture.extensions?.[BASISU]?.source as number | undefined;
  return [
    ...(texture.source !== undefined && mimeOf(texture.source) === KTX2 ? [texture.source] : []),
    ...(compressed !== undefined && mimeOf(compressed) !== KTX2 ? [compressed] : []),
  ];
}

/**
 * Corrects the textures of a document for viewers: textures no longer refer to damaged images, `KHR_texture_basisu` refers
 * to KTX2 images and to no others, and materials lose maps that have no image left. Changes textures, materials and the
 * declared image formats in place; indices stay.
 * @param images in the document's order; a missing entry counts as undamaged
 */
export function mendTextures(json: GltfJson, images: readonly ImageFacts[]): void {
  const mimeOf = (image: number) => images[image]?.mimeType ?? null;
  let changed = false;
  const lost = new Set<number>();
  json.textures?.forEach((texture, index) => {
    const sources = listSources(texture);
    const misplaced = images.length > 0 ? listMisplaced(texture, mimeOf) : [];
    const damaged = sources.filter((image) => images[image]?.damaged);
    if (misplaced.length > 0 || damaged.length > 0) {
      for (const image of damaged) removeSource(texture, image);
      for (const image of misplaced) if (!damaged.includes(image)) move(texture, image, mimeOf(image) === KTX2);
      changed = true;
    }
    if (listSources(texture).length === 0) lost.add(index);
  });
  if (changed) declareImageFormats(json);
  if (lost.size === 0) return;
  for (const material of json.materials ?? []) {
    for (const use of listTextureUses(material)) {
      if (!lost.has(use.info.index)) continue;
      dropTexture(material, use);
      resetFactor(material, use.use);
    }
  }
}

/** References of unknown extensions stay. */
function removeSource(texture: TextureJson, image: number): void {
  if (texture.source === image) delete texture.source;
  for (const name of IMAGE_FORMATS) if (texture.extensions?.[name]?.source === image) removeExtension(texture, name);
}

/** Moves an image to the source of its format. Where that source has an image already, the texture shows that one. */
function move(texture: TextureJson, image: number, compressed: boolean): void {
  if (compressed) {
    delete texture.source;
    if (!texture.extensions?.[BASISU]) texture.extensions = { ...texture.extensions, [BASISU]: { source: image } };
    return;
  }
  removeExtension(texture, BASISU);
  if (listSources(texture).length === 0) texture.source = image;
}

function removeExtension(texture: TextureJson, name: string): void {
  const { [name]: _, ...others } = texture.extensions ?? {};
  if (Object.keys(others).length > 0) texture.extensions = others;
  else delete texture.extensions;
}
