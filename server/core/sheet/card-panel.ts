import { planPanel } from '../picture/panel.ts';
import type { SheetFormat } from './paper.ts';
import { CARD_MM, measureChipWidth } from './plan-colour-card.ts';

/** Pixels to the inch of a picture on the card, the resolution print asks for (common practice). */
const PPI = 300;

/** The picture of a panel in a field of the card, 1 : 1: a piece as wide as the field, of which the field shows what lies below its gloss. */
export interface CardPanel {
  /** Width of the piece, which is that of the field. */
  readonly widthMm: number;
  /** Side of the picture to be taken. */
  readonly sizePx: number;
  /** The whole picture as it lies behind the field: its side, and its corner from the field’s, both negative. */
  readonly sideMm: number;
  readonly leftMm: number;
  readonly topMm: number;
}

export function planCardPanel(format: Pick<SheetFormat, 'paper'>): CardPanel {
  const widthMm = measureChipWidth(format);
  const wanted = (widthMm / 25.4) * PPI;
  // the piece takes the same share of a picture of any size
  const share = planPanel(10_000, widthMm).widthPx / 10_000;
  const sizePx = Math.round(wanted / share);
  const { left, top, glossPx, pxPerMm } = planPanel(sizePx, widthMm);
  return { widthMm, sizePx, sideMm: sizePx / pxPerMm, leftMm: -left / pxPerMm, topMm: -(top + glossPx) / pxPerMm };
}

/** Side of the picture of a lit metal, which stands as high as the highest field. */
export const LIT_PX = Math.round((Math.max(...CARD_MM.fields) / 25.4) * PPI);

/** A mark of a rule, in mm from its left: longer at five and ten, with a numeral at every ten. */
export interface RulerMark {
  readonly atMm: number;
  readonly lengthMm: number;
  readonly numeral: string | null;
}

/** Half the width of two numerals in 5 points. */
const NUMERAL_HALF_MM = 1.2;

/** Marks of the rule under a panel, one for each whole millimetre. A numeral that would stand over the end is left out. */
export function listRulerMarks(widthMm: number): RulerMark[] {
  const { mark } = CARD_MM.ruler;
  return Array.from({ length: Math.floor(widthMm) + 1 }, (_, atMm) => ({
    atMm,
    lengthMm: atMm % 10 === 0 ? mark : atMm % 5 === 0 ? mark * 0.7 : mark * 0.45,
    numeral: atMm % 10 === 0 && atMm + NUMERAL_HALF_MM <= widthMm ? String(atMm) : null,
  }));
}
