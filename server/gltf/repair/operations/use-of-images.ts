import type { GltfJson } from '../../document/json.ts';
import { listSources, listTextureUses } from '../../document/texture-uses.ts';

/** What an image is to those materials that use it. */
export interface ImageUse {
  /** Some material reads it as directions: a normal map, or the coat's. */
  readonly normal: boolean;
  /** Some material reads it as sRGB. */
  readonly colour: boolean;
  /** Some material takes its alpha for the part's shape. */
  readonly shapes: boolean;
}

/** Ends of property names by which images are read as sRGB; all others hold plain numbers (glTF 2.0 and its extensions). */
const COLOUR =
  /(baseColor|diffuse|emissive|sheenColor|specularColor|diffuseTransmissionColor|specularGlossiness)Texture$/;
const NORMAL = /normalTexture$/i;
/** Where alpha is coverage. */
const COVERAGE = /(baseColor|diffuse)Texture$/;

/** How every image that any material uses is read, by index. */
export function listImageUses(json: GltfJson): Map<number, ImageUse> {
  const uses = new Map<number, ImageUse>();
  for (const material of json.materials ?? []) {
    for (const { use, info } of listTextureUses(material)) {
      for (const image of listSources(json.textures?.[info.index] ?? {})) {
        const { normal, colour, shapes } = uses.get(image) ?? { normal: false, colour: false, shapes: false };
        uses.set(image, {
          normal: normal || NORMAL.test(use),
          colour: colour || COLOUR.test(use),
          shapes: shapes || (COVERAGE.test(use) && (material.alphaMode ?? 'OPAQUE') !== 'OPAQUE'),
        });
      }
    }
  }
  return uses;
}
