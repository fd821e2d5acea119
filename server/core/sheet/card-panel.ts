import { planPanel } from '../picture/panel.ts';
import type { SheetFormat } from './paper.ts';
import { CARD_MM, measureChipWidth } from './plan-colour-card.ts';

/** Pixels to the inch of a panel on the card, the resolution print asks for (common practice). */
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

export function planCardPanel(format: SheetFormat): CardPanel {
  const widthMm = measureChipWidth(format);
  const wanted = (widthMm / 25.4) * PPI;
  // the piece takes the same share of a picture of any size
  const share = planPanel(10_000, widthMm).widthPx / 10_000;
  const sizePx = Math.round(wanted / share);
  const { left, top, glossPx, pxPerMm } = planPanel(sizePx, widthMm);
  return { widthMm, sizePx, sideMm: sizePx / pxPerMm, leftMm: -left / pxPerMm, topMm: -(top + glossPx) / pxPerMm };
}

/** Marks along the lower edge of a panel, in mm from its left: one for each whole millimetre, longer at five and ten. */
export function listRulerMarks(widthMm: number): { readonly atMm: number; readonly lengthMm: number }[] {
  return Array.from({ length: Math.floor(widthMm) + 1 }, (_, atMm) => ({
    atMm,
    lengthMm: atMm % 10 === 0 ? CARD_MM.ruler : atMm % 5 === 0 ? CARD_MM.ruler * 0.7 : CARD_MM.ruler * 0.45,
  }));
}
