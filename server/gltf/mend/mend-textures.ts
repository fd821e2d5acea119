import type { SurveyedImage } from '../../core/product/survey.ts';
import { declareImageFormats, IMAGE_FORMATS } from '../document/extensions.ts';
import type { GltfJson, TextureJson } from '../document/json.ts';
import { dropTexture, listSources, listTextureUses, settleFactor } from '../document/texture-uses.ts';

const BASISU = 'KHR_texture_basisu';
const KTX2 = 'image/ktx2';

/** What has to be known of the images of a model, in their order. */
export type ImageFacts = Pick<SurveyedImage, 'mimeType' | 'damaged'>;

/** Images of a texture that viewers would read as another format than they are of. */
export function listMisplaced(texture: TextureJson, mimeOf: (image: number) => string | null): number[] {
  const compressed = texture.extensions?.[BASISU]?.source as number | undefined;
  return [
    ...(texture.source !== undefined && mimeOf(texture.source) === KTX2 ? [texture.source] : []),
    ...(compressed !== undefined && mimeOf(compressed) !== KTX2 ? [compressed] : []),
  ];
}

/**
 * Mends the textures of a document as viewers need them: images nobody can show are named by none, KTX2 is named by
 * `KHR_texture_basisu` and other formats are not, and materials lose maps that are left without an image. Changes the
 * textures and materials of the document, and what it declares of image formats; indices stay.
 * @param images in the document's order; those that are not there are taken to be whole
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
      settleFactor(material, use.use);
    }
  }
}

/** What an extension nobody here knows refers to is left to those who know it. */
function removeSource(texture: TextureJson, image: number): void {
  if (texture.source === image) delete texture.source;
  for (const name of IMAGE_FORMATS) if (texture.extensions?.[name]?.source === image) removeExtension(texture, name);
}

/** An image that another one stands in the way of is left off: the texture shows that one. */
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
