import { PAPERS } from '../sheet/page.ts';
import { type Ground, IMAGE_TYPES, type ShotView, type SwatchKind } from './picture.ts';

/** Subject of the files: each variant in each view, or each finish that the variants use. */
export type SetSubject =
  | { readonly kind: 'variants'; readonly views: readonly ShotView[] }
  | { readonly kind: 'finishes'; readonly swatches: readonly SwatchKind[] };

/** Square sizes, a free size, or a printed size with a bleed that is trimmed off. */
export type Frame =
  | { readonly sizesPx: readonly number[] }
  | { readonly widthPx: number; readonly heightPx: number }
  | PrintedFrame;

interface PrintedFrame {
  readonly widthMm: number;
  readonly heightMm: number;
  readonly ppi: number;
  readonly bleedMm: number;
}

export const isPrinted = (frame: Frame): frame is PrintedFrame => 'ppi' in frame;

export const SET_FORMATS = ['png', 'webp', 'jpg', 'tiff'] as const;
export type SetFormat = (typeof SET_FORMATS)[number];

export const FORMAT_ENDINGS: Readonly<Record<SetFormat, string>> = {
  png: 'png',
  webp: 'webp',
  jpg: 'jpg',
  tiff: 'tif',
};

export const FORMAT_TYPES: Readonly<Record<SetFormat, string>> = {
  ...IMAGE_TYPES,
  tiff: 'image/tiff',
};

/** `separate`: the product without a shadow, and the shadow in a file of its own. */
export const SET_SHADOWS = ['with', 'without', 'separate'] as const;
export type SetShadow = (typeof SET_SHADOWS)[number];

/** One recipient's pictures: subject, sizes, format, ground and file names. */
export interface PictureSet {
  readonly code: string;
  readonly name: string;
  readonly subject: SetSubject;
  readonly frame: Frame;
  readonly format: SetFormat;
  /** 1–100; for JPEG and WebP. */
  readonly quality?: number;
  /** White is 255 in every channel. */
  readonly ground: Ground;
  readonly shadow: SetShadow;
  /**
   * Share of the frame that the product fills, in percent of the width or the height, whichever is larger. The bleed is
   * not part of the frame. The camera distance stays within these bounds and is the same for every variant.
   */
  readonly fill: { readonly minPercent: number; readonly maxPercent: number };
  /** `line`: all products of a line have one scale. The largest fills the share in `fill`; the others fill less. */
  readonly scale: 'product' | 'line';
  /** A template; see `NAME_FIELDS`. */
  readonly names: string;
  /** GS1-style names for variants with a GTIN. The template names the others. */
  readonly gs1Names: boolean;
  /** Pictures exist in this profile only. It is embedded in the file. */
  readonly profile: 'srgb';
}

export const DEFAULT_NAMES = '{product}_{variant}_{view}_{size}';
export const DEFAULT_SWATCH_NAMES = '{finish}_{view}_{size}';
export const DEFAULT_FILL = { minPercent: 75, maxPercent: 90 } as const;

/** Built-in picture sets. The figures are common practice of shops and print shops. */
export const READY_SETS: readonly PictureSet[] = [
  {
    code: 'shop',
    name: 'Shop, 2048 px on white',
    subject: { kind: 'variants', views: ['front', 'three-quarter', 'side', 'back'] },
    frame: { sizesPx: [2048] },
    format: 'jpg',
    quality: 90,
    ground: 'white',
    shadow: 'with',
    fill: DEFAULT_FILL,
    scale: 'product',
    names: DEFAULT_NAMES,
    gs1Names: true,
    profile: 'srgb',
  },
  {
    code: 'print',
    name: 'Print, A4 at 300 ppi with bleed',
    subject: { kind: 'variants', views: ['three-quarter'] },
    frame: { ...PAPERS.a4, ppi: 300, bleedMm: 3 },
    format: 'tiff',
    ground: 'white',
    shadow: 'with',
    fill: DEFAULT_FILL,
    scale: 'product',
    names: DEFAULT_NAMES,
    gs1Names: false,
    profile: 'srgb',
  },
  {
    code: 'swatches',
    name: 'Swatches, 1024 px',
    subject: { kind: 'finishes', swatches: ['chip', 'sphere'] },
    frame: { sizesPx: [1024] },
    format: 'png',
    ground: 'transparent',
    shadow: 'without',
    fill: DEFAULT_FILL,
    scale: 'product',
    names: DEFAULT_SWATCH_NAMES,
    gs1Names: false,
    profile: 'srgb',
  },
];

const MM_PER_INCH = 25.4;

/** A length in pixels, rounded; at least 1. */
export function toPx(mm: number, ppi: number): number {
  return Math.max(1, Math.round((mm / MM_PER_INCH) * ppi));
}

/**
 * The target share of the frame, in percent: the middle of the allowed range, so that one pixel more or less at an edge
 * stays within it.
 */
export function chooseFillPercent({ minPercent, maxPercent }: PictureSet['fill']): number {
  return (minPercent + maxPercent) / 2;
}

/** The length of some pixels on paper, in mm, rounded to a hundredth. */
export function toMm(px: number, ppi: number): number {
  return Math.round((px / ppi) * MM_PER_INCH * 100) / 100;
}

export interface FrameSize {
  readonly widthPx: number;
  readonly heightPx: number;
  /** Trimmed off each edge. */
  readonly bleedPx: number;
}

/**
 * The sizes of a frame in pixels. The bleed is added to the printed size on all four edges before the conversion to
 * pixels, as print shops do: A4 with 3 mm at 300 ppi is 216 × 303 mm, 2551 × 3579 px.
 */
export function listFrameSizes(frame: Frame): readonly FrameSize[] {
  if (isPrinted(frame)) {
    const { widthMm, heightMm, ppi, bleedMm } = frame;
    return [
      {
        widthPx: toPx(widthMm + 2 * bleedMm, ppi),
        heightPx: toPx(heightMm + 2 * bleedMm, ppi),
        bleedPx: bleedMm === 0 ? 0 : toPx(bleedMm, ppi),
      },
    ];
  }
  if ('sizesPx' in frame) return frame.sizesPx.map((side) => ({ widthPx: side, heightPx: side, bleedPx: 0 }));
  return [{ ...frame, bleedPx: 0 }];
}

/** How pixels become a delivered file. */
export interface FileEncoding {
  readonly format: SetFormat;
  /** 1–100, for JPEG and WebP; 90 when absent. */
  readonly quality?: number;
  /** Lossless WebP, for pictures whose colour must be exact. It ignores `quality`. */
  readonly lossless?: boolean;
  /**
   * Background behind transparent pixels, as sRGB hex. When absent, JPEG gets white and other formats stay transparent.
   */
  readonly ground?: `#${string}`;
  /** Pixels per inch recorded in the file; none when absent. */
  readonly ppi?: number;
  /** An XMP packet (ISO 16684-1), as text. */
  readonly xmp?: string;
}
