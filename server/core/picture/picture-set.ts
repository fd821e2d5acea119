import { PAPERS } from '../sheet/page.ts';
import type { Ground, ShotView, SwatchKind } from './picture.ts';

/** What the files are pictures of: each variant in each view, or each finish that the variants wear. */
export type SetSubject =
  | { readonly kind: 'variants'; readonly views: readonly ShotView[] }
  | { readonly kind: 'finishes'; readonly swatches: readonly SwatchKind[] };

/** Squares, a free size, or a printed size with what is printed beyond its edges to be trimmed. */
export type Frame =
  | { readonly sizesPx: readonly number[] }
  | { readonly widthPx: number; readonly heightPx: number }
  | PrintedFrame;

export interface PrintedFrame {
  readonly widthMm: number;
  readonly heightMm: number;
  readonly ppi: number;
  readonly bleedMm: number;
}

export const isPrinted = (frame: Frame): frame is PrintedFrame => 'ppi' in frame;

export const SET_FORMATS = ['png', 'webp', 'jpg', 'tiff'] as const;
export type SetFormat = (typeof SET_FORMATS)[number];

/** Endings of file names. */
export const FORMAT_ENDINGS: Readonly<Record<SetFormat, string>> = {
  png: 'png',
  webp: 'webp',
  jpg: 'jpg',
  tiff: 'tif',
};

export const FORMAT_TYPES: Readonly<Record<SetFormat, string>> = {
  png: 'image/png',
  webp: 'image/webp',
  jpg: 'image/jpeg',
  tiff: 'image/tiff',
};

/** `separate`: the product without a shadow, and the shadow in a file of its own. */
export const SET_SHADOWS = ['with', 'without', 'separate'] as const;
export type SetShadow = (typeof SET_SHADOWS)[number];

/** One recipient's pictures: what of, how large, in which format, on which ground, and under which names. */
export interface PictureSet {
  readonly code: string;
  readonly name: string;
  readonly subject: SetSubject;
  readonly frame: Frame;
  readonly format: SetFormat;
  /** 1–100; of JPEG and WebP. */
  readonly quality?: number;
  /** White is 255 in every channel. */
  readonly ground: Ground;
  readonly shadow: SetShadow;
  /**
   * How much of the frame the product takes, in percent of the width or the height, whichever it fills more; the bleed does
   * not count as frame. The camera keeps its distance within these bounds, the same for every variant.
   */
  readonly fill: { readonly minPercent: number; readonly maxPercent: number };
  /** `line`: all products of a line to one scale, at which the largest takes as much as `fill` says and others take less. */
  readonly scale: 'product' | 'line';
  /** A template; see `NAME_FIELDS`. */
  readonly names: string;
  /** GS1-style names for variants with a GTIN; those without one are named by the template. */
  readonly gs1Names: boolean;
  /** The only profile pictures are made in; it is embedded. */
  readonly profile: 'srgb';
}

export const DEFAULT_NAMES = '{product}_{variant}_{view}_{size}';
export const DEFAULT_SWATCH_NAMES = '{finish}_{view}_{size}';
export const DEFAULT_FILL = { minPercent: 75, maxPercent: 90 } as const;

/** Sets that are there without anybody having made one. Figures are common practice of shops and print shops. */
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

/** Pixels of a length, to the nearest whole one; never none. */
export function toPx(mm: number, ppi: number): number {
  return Math.max(1, Math.round((mm / MM_PER_INCH) * ppi));
}

/**
 * How much of the frame a product is asked to take, in percent: the middle of what a set allows, so that a pixel more or
 * less at an edge leaves it within.
 */
export function chooseFillPercent({ minPercent, maxPercent }: PictureSet['fill']): number {
  return (minPercent + maxPercent) / 2;
}

/** A length of so many pixels on paper, in mm; to a hundredth. */
export function toMm(px: number, ppi: number): number {
  return Math.round((px / ppi) * MM_PER_INCH * 100) / 100;
}

export interface FrameSize {
  readonly widthPx: number;
  readonly heightPx: number;
  /** What is trimmed off each edge. */
  readonly bleedPx: number;
}

/**
 * Sizes in pixels that a frame comes to. Bleed is added to the printed size on all four edges before it is turned into
 * pixels, as print shops reckon it: A4 with 3 mm at 300 ppi is 216 × 303 mm, 2551 × 3579 px.
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

/** How pixels become a file that is handed on. */
export interface FileEncoding {
  readonly format: SetFormat;
  /** 1–100, for JPEG and WebP; 90 when absent. */
  readonly quality?: number;
  /** WebP without loss, for pictures whose colour is a promise; `quality` counts for nothing then. */
  readonly lossless?: boolean;
  /** What stands behind that which is see-through, as sRGB hex; JPEG has white when absent, all else stays see-through. */
  readonly ground?: `#${string}`;
  /** Pixels to the inch the file says it is meant for; none when absent. */
  readonly ppi?: number;
  /** An XMP packet (ISO 16684-1), as text. */
  readonly xmp?: string;
}
