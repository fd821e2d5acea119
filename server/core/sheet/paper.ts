/** Sheets of paper, upright, in mm: A4 by ISO 216, Letter by ANSI/ASME Y14.1 (8.5 × 11 inches). */
export const PAPERS = {
  a4: { widthMm: 210, heightMm: 297 },
  letter: { widthMm: 215.9, heightMm: 279.4 },
} as const;
export type Paper = keyof typeof PAPERS;

/** What is printed beyond the edge, to be trimmed: none, or the 3 mm printers ask for (common practice). */
export const BLEEDS_MM = [0, 3] as const;
export type BleedMm = (typeof BLEEDS_MM)[number];

export interface SheetFormat {
  readonly paper: Paper;
  readonly bleedMm: BleedMm;
  /** Whether the file says that it is PDF/X-4 (ISO 15930-7), for a printer. */
  readonly press: boolean;
}

/** Left free round the type area, in mm: enough for a punched edge and a desk printer's grip. */
export const MARGINS_MM = { top: 17, side: 14, bottom: 19 } as const;

/** Size of the type area, in mm. */
export function measureTypeArea(paper: Paper): { readonly widthMm: number; readonly heightMm: number } {
  const { widthMm, heightMm } = PAPERS[paper];
  return { widthMm: widthMm - 2 * MARGINS_MM.side, heightMm: heightMm - MARGINS_MM.top - MARGINS_MM.bottom };
}

/** What holds of every printed colour here. */
export const SHEET_CAUTION =
  'Screens and prints are indicative; a physical sample under the stated light decides. Print at 100 %.';
