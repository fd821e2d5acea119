/** Views of a product. Angles of the hero view are common practice: 30–35° to the side, 10–15° from above. */
export const VIEWS = ['front', 'three-quarter', 'three-quarter-left', 'side', 'back', 'top'] as const;
export type View = (typeof VIEWS)[number];

export const IMAGE_FORMATS = ['png', 'webp', 'jpg'] as const;
export type ImageFormat = (typeof IMAGE_FORMATS)[number];

export const IMAGE_TYPES: Readonly<Record<ImageFormat, string>> = {
  png: 'image/png',
  webp: 'image/webp',
  jpg: 'image/jpeg',
};

/** `transparent` is not to be had in JPEG, which then stands on white. */
export const GROUNDS = ['transparent', 'white'] as const;
export type Ground = (typeof GROUNDS)[number];

/** A flat chip of the exact colour, a sphere, a flat piece at true scale beside a ruler, and a draped cutting. */
export const SWATCH_KINDS = ['chip', 'sphere', 'panel', 'cutting'] as const;
export type SwatchKind = (typeof SWATCH_KINDS)[number];

/** `flat`: even light, no shine and no tone curve, so that a picture shows the base colour exactly. */
export const SWATCH_LIGHTS = ['studio', 'flat'] as const;
export type SwatchLight = (typeof SWATCH_LIGHTS)[number];

export const PICTURE_SIZE_PX = { min: 32, max: 2048, default: 512, swatchDefault: 256 } as const;

/** `draft` while editing: few subsamples. `still` for anything that is kept. */
export type Quality = 'draft' | 'still';

/** How a product stands: decides where its ground is, if it has one. */
export const MOUNTS = ['floor', 'table', 'wall', 'ceiling'] as const;
export type Mount = (typeof MOUNTS)[number];

/** Pixels of one image in a model or of a finish; more would unpack to over a quarter of a gigabyte. */
export const MAP_PIXEL_LIMIT = 8192 * 8192;
