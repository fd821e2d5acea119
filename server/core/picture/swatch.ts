import type { Lab } from '../colour/lab.ts';
import type { ColourSpecification, Tile } from '../finish/finish.ts';
import type { DeliveredColour } from '../finish/resolve-finish.ts';
import type { JudgedTolerance } from '../finish/tolerances.ts';
import type { Finding } from '../product/finding.ts';
import type { SwatchKind, SwatchLight } from './picture.ts';

/** Width of the piece on a panel, mm: from a few threads of cloth to a table top. */
export const PANEL_WIDTH_MM = { min: 20, max: 2000, default: 100 } as const;

/** Round widths to choose from. */
const WIDTHS_MM = [
  20, 30, 40, 50, 60, 80, 100, 120, 150, 200, 250, 300, 400, 500, 600, 800, 1000, 1200, 1500, 2000,
] as const;

/** The default width of a panel: round, at least 100 mm, and at least two repeats of the finish. */
export function choosePanelWidthMm(tile: Tile | null): number {
  if (!tile) return PANEL_WIDTH_MM.default;
  // At an odd quarter turn, the height of the repeat runs across.
  const exchanged = Math.round((tile.grainDegrees ?? 0) / 90) % 2 !== 0;
  const needed = 2 * (exchanged ? tile.heightMm : tile.widthMm);
  return WIDTHS_MM.find((width) => width >= Math.max(needed, PANEL_WIDTH_MM.default)) ?? PANEL_WIDTH_MM.max;
}

/** Position of piece and ruler in the picture, in whole pixels from its top left corner. */
export interface PanelLayout {
  readonly sizePx: number;
  readonly widthMm: number;
  /** Exact: the piece is `widthPx` wide and `widthMm` long. */
  readonly pxPerMm: number;
  readonly left: number;
  readonly top: number;
  readonly widthPx: number;
  /** Height of the piece, without the ruler. */
  readonly heightPx: number;
  /** Height of the ruler, which starts at the lower edge of the piece. */
  readonly rulerPx: number;
  /**
   * Height of the band at the top of the piece that shows its gloss when lit. The band is seen from the side and
   * mirrors the key light.
   */
  readonly glossPx: number;
}

/** Shares of the picture's side: room for the shadow on the left and right, above, and below the ruler. */
const SIDE = 0.06;
const ABOVE = 0.05;
const BELOW = 0.07;
const RULER = 0.085;
/** Ends above the widest field in which swatches are measured, a disc in the middle of the picture. */
const GLOSS = 0.22;

/** Lays out a panel in a square picture, on whole pixels, so that edges and scale are exact. */
export function planPanel(sizePx: number, widthMm: number): PanelLayout {
  const left = Math.round(sizePx * SIDE);
  const top = Math.round(sizePx * ABOVE);
  const rulerPx = Math.round(sizePx * RULER);
  const widthPx = sizePx - 2 * left;
  const heightPx = sizePx - top - rulerPx - Math.round(sizePx * BELOW);
  const glossPx = Math.round(sizePx * GLOSS);
  return { sizePx, widthMm, pxPerMm: widthPx / widthMm, left, top, widthPx, heightPx, rulerPx, glossPx };
}

/**
 * The largest field of a panel that holds whole repeats of a pattern and none of the gloss band, px from the picture's
 * top left corner. The pattern starts at the left edge of the piece. Null if no whole repeat fits, or if the pattern
 * lies at an angle.
 * @param flat even light mirrors nothing, so the whole piece is usable
 */
export function findWholeRepeats(
  { left, top, widthPx, heightPx, glossPx, pxPerMm }: PanelLayout,
  { widthMm, heightMm, grainDegrees = 0 }: Tile,
  flat = false,
): PixelField | null {
  if (grainDegrees % 90 !== 0) return null;
  const exchanged = grainDegrees % 180 !== 0;
  const [across, down] = [exchanged ? heightMm : widthMm, exchanged ? widthMm : heightMm].map((mm) => mm * pxPerMm) as [
    number,
    number,
  ];
  const above = flat ? 0 : glossPx;
  const high = heightPx - above;
  // Allows half a pixel less, where a width is a whole number of repeats.
  const [columns, rows] = [Math.floor((widthPx + 0.5) / across), Math.floor((high + 0.5) / down)];
  if (columns < 1 || rows < 1) return null;
  return { left, top: top + above, width: Math.min(columns * across, widthPx), height: Math.min(rows * down, high) };
}

/**
 * Where a swatch is measured: anywhere on a flat one; in the middle of a lit one, where it faces the viewer; over a
 * wide disc if a pattern needs averaging; or over whole repeats of the pattern if the piece is large enough.
 */
export type MeasuredWhere = 'flat' | 'facing-centre' | 'mean' | 'whole-repeats';

/** A rectangle of a picture, px from its top left corner; edges need not fall on pixels. */
export interface PixelField {
  readonly left: number;
  readonly top: number;
  readonly width: number;
  readonly height: number;
}

/** A named disc in the middle, or whole repeats. */
export type MeasuredField = Exclude<MeasuredWhere, 'whole-repeats'> | PixelField;

export interface MeasuredColour {
  readonly where: MeasuredWhere;
  readonly hex: string;
  /** CIE Lab, D65, 2°. */
  readonly lab: Lab;
}

/** The shown and the specified colour of a swatch. Lab is CIE Lab under D65 for the 2° observer throughout. */
export interface SwatchDescription {
  readonly finish: string;
  readonly revision: number;
  readonly kind: SwatchKind;
  readonly sizePx: number;
  /** A chip is flat in any light. */
  readonly light: SwatchLight;
  /** Of a panel: the width of its piece, and exact pixels per millimetre. Null for shapes without a scale. */
  readonly scale: { readonly widthMm: number; readonly pxPerMm: number } | null;
  readonly specified: {
    readonly lab: Lab;
    readonly illuminant: 'D65';
    readonly observer: '2deg';
    /** Null if the colour is outside sRGB. */
    readonly hex: string | null;
    /** Null if the colour comes from the map without a specification. */
    readonly given: ColourSpecification | null;
  };
  /** Area mean of the delivered colour; null if it cannot be measured. */
  readonly delivered: DeliveredColour | null;
  /** Measured in the pixels of the picture itself. */
  readonly measured: MeasuredColour;
  /** ΔE00 between specified and measured, to two decimals. */
  readonly deltaE: number;
  /** The trade's tolerance between specified and delivered colour. */
  readonly tolerance: JudgedTolerance;
  /** Why they differ, in words. */
  readonly notes: readonly string[];
  /** Weaves finer than the pixels of the picture. */
  readonly findings: readonly Finding[];
  readonly caution: string;
}
