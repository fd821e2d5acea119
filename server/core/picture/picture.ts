import { isHex } from '../colour/srgb.ts';
import { Problem } from '../problems.ts';
import { CALL_PROBLEMS } from '../texts/problems/request.ts';

/** Views of a product. The angles of the hero view are common practice: 30–35° to the side, 10–15° from above. */
export const VIEWS = ['front', 'three-quarter', 'three-quarter-left', 'side', 'back', 'top'] as const;
export type View = (typeof VIEWS)[number];

/** A close-up of the parts of one slot, from the direction that shows most of them: `slot:seat`. */
type CloseView = `slot:${string}`;
export type ShotView = View | CloseView;

export const isNamedView = (view: ShotView): view is View => (VIEWS as readonly string[]).includes(view);

export const IMAGE_FORMATS = ['png', 'webp', 'jpg'] as const;
export type ImageFormat = (typeof IMAGE_FORMATS)[number];

export const IMAGE_TYPES: Readonly<Record<ImageFormat, string>> = {
  png: 'image/png',
  webp: 'image/webp',
  jpg: 'image/jpeg',
};

/**
 * Background of the product: transparent, white, or an even colour as lower-case sRGB hex. JPEG has no transparency and
 * gets white.
 */
export type Ground = 'transparent' | 'white' | `#${string}`;

/** A flat chip of the exact colour, a sphere, a flat piece at true scale beside a ruler, or a draped cutting. */
export const SWATCH_KINDS = ['chip', 'sphere', 'panel', 'cutting'] as const;
export type SwatchKind = (typeof SWATCH_KINDS)[number];

/** The shadow: `with` the product, left out, or alone in a file of its own as black with coverage. */
export const SHADOWS = ['with', 'without', 'only'] as const;
export type Shadow = (typeof SHADOWS)[number];

/** `flat`: even light, no shine and no tone curve, so that a picture shows the base colour exactly. */
export const SWATCH_LIGHTS = ['studio', 'flat'] as const;
export type SwatchLight = (typeof SWATCH_LIGHTS)[number];

/**
 * Limits of picture sides, px. `max` applies to sizes requested in pixels. A printed size at a resolution may reach
 * `printMax`. All pixels together may reach `pixels`, which is two hundred megabytes while drawn.
 */
export const PICTURE_SIZE_PX = {
  min: 32,
  max: 4096,
  printMax: 8192,
  pixels: 48_000_000,
  default: 512,
  swatchDefault: 256,
  swatchMax: 2048,
} as const;

/**
 * Subsamples per pixel: `draft`, while editing, has 4; `still`, for stored pictures, has 16; `fine`, for close looks at
 * edges, has 64.
 */
export type Quality = 'draft' | 'still' | 'fine';

/** How a product stands. Decides whether it has a ground, and where. */
export const MOUNTS = ['floor', 'table', 'wall', 'ceiling'] as const;
export type Mount = (typeof MOUNTS)[number];

/** Pixel limit of one image in a model or finish. A larger one would unpack to over a quarter of a gigabyte. */
export const MAP_PIXEL_LIMIT = 8192 * 8192;

/**
 * Reads a ground from a URL. There `#` needs escaping, so it may be left out.
 * @throws Problem `invalid-field`
 */
export function readGround(text: string): Ground {
  const ground = findGround(text);
  if (ground) return ground;
  throw new Problem('invalid-field', {
    detail: CALL_PROBLEMS['invalid-field'].unknownBackground(text.slice(0, 20)),
    expected: 'transparent, white or rrggbb',
    received: text.slice(0, 20),
    where: 'querystring/ground',
  });
}

/** The ground a text names; null if it names none. */
export function findGround(text: string): Ground | null {
  if (text === 'transparent' || text === 'white') return text;
  const hex = text.startsWith('#') ? text : `#${text}`;
  return isHex(hex) ? (hex.toLowerCase() as Ground) : null;
}

/** sRGB levels of an even ground; null for a transparent one. */
export function toGroundLevels(ground: Ground): readonly [number, number, number] | null {
  if (ground === 'transparent') return null;
  if (ground === 'white') return [255, 255, 255];
  const levels = [1, 3, 5].map((at) => Number.parseInt(ground.slice(at, at + 2), 16));
  return levels as unknown as readonly [number, number, number];
}
