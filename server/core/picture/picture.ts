/** Views of a product. Angles of the hero view are common practice: 30–35° to the side, 10–15° from above. */
export const VIEWS = ['front', 'three-quarter', 'three-quarter-left', 'side', 'back', 'top'] as const;
export type View = (typeof VIEWS)[number];

/** A close view of the parts of one slot, from where most of them is seen: `slot:seat`. */
export type CloseView = `slot:${string}`;
export type ShotView = View | CloseView;

export const isNamedView = (view: ShotView): view is View => (VIEWS as readonly string[]).includes(view);

export const IMAGE_FORMATS = ['png', 'webp', 'jpg'] as const;
export type ImageFormat = (typeof IMAGE_FORMATS)[number];

export const IMAGE_TYPES: Readonly<Record<ImageFormat, string>> = {
  png: 'image/png',
  webp: 'image/webp',
  jpg: 'image/jpeg',
};

/** Behind the product: nothing, white, or an even colour as sRGB hex in small letters. JPEG has no nothing and takes white. */
export type Ground = 'transparent' | 'white' | `#${string}`;

/** A flat chip of the exact colour, a sphere, a flat piece at true scale beside a ruler, and a draped cutting. */
export const SWATCH_KINDS = ['chip', 'sphere', 'panel', 'cutting'] as const;
export type SwatchKind = (typeof SWATCH_KINDS)[number];

/** `with` the product, left out, or by itself as a file of its own: black with coverage. */
export const SHADOWS = ['with', 'without', 'only'] as const;
export type Shadow = (typeof SHADOWS)[number];

/** `flat`: even light, no shine and no tone curve, so that a picture shows the base colour exactly. */
export const SWATCH_LIGHTS = ['studio', 'flat'] as const;
export type SwatchLight = (typeof SWATCH_LIGHTS)[number];

/**
 * Sides of pictures. `max` is what is asked for by its pixels; a printed size at a resolution may come to `printMax`, and all of
 * its pixels to `pixels`: two hundred megabytes as they are drawn.
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

/** `draft` while editing: 4 subsamples. `still` for anything that is kept: 16. `fine` where edges are looked at closely: 64. */
export type Quality = 'draft' | 'still' | 'fine';

/** How a product stands: decides where its ground is, if it has one. */
export const MOUNTS = ['floor', 'table', 'wall', 'ceiling'] as const;
export type Mount = (typeof MOUNTS)[number];

/** Pixels of one image in a model or of a finish; more would unpack to over a quarter of a gigabyte. */
export const MAP_PIXEL_LIMIT = 8192 * 8192;
