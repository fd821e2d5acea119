/** Paper sizes, portrait, in mm: A4 by ISO 216, Letter by ANSI/ASME Y14.1 (8.5 × 11 inches). */
export const PAPERS = {
  a4: { widthMm: 210, heightMm: 297 },
  letter: { widthMm: 215.9, heightMm: 279.4 },
} as const;
export type Paper = keyof typeof PAPERS;

/** Bleed that is trimmed off: none, or the 3 mm that printers ask for (common practice). */
export const BLEEDS_MM = [0, 3] as const;
export type BleedMm = (typeof BLEEDS_MM)[number];

export interface SheetFormat {
  readonly paper: Paper;
  readonly bleedMm: BleedMm;
  /** Whether the file states PDF/X-4 (ISO 15930-7), for a printer. */
  readonly press: boolean;
}

/** Margins around the type area, in mm: enough for a punched edge and the grip of a desk printer. */
export const MARGINS_MM = { top: 17, side: 14, bottom: 19 } as const;

/** Size of the type area, in mm. */
export function measureTypeArea(paper: Paper): { readonly widthMm: number; readonly heightMm: number } {
  const { widthMm, heightMm } = PAPERS[paper];
  return { widthMm: widthMm - 2 * MARGINS_MM.side, heightMm: heightMm - MARGINS_MM.top - MARGINS_MM.bottom };
}

/** The caution on every printed sheet. */
export const SHEET_CAUTION =
  'Screens and prints are indicative; a physical sample under the stated light decides. Print at 100 %.';

/** An element across the full width of the type area. */
export interface Block {
  readonly heightMm: number;
}

export type Placed<B extends Block> = B & { readonly topMm: number };

/**
 * Places blocks on pages, in order, from the top. A block that is higher than a page gets its own page. The last page
 * gets a second block where the page before has one to spare.
 * @param heightMm of the type area
 * @param usedMm height that is already used on the first page
 */
export function flowBlocks<B extends Block>(blocks: readonly B[], heightMm: number, usedMm = 0): Placed<B>[][] {
  const pages: B[][] = [[]];
  let bottom = usedMm;
  for (const block of blocks) {
    if (bottom > 0 && bottom + block.heightMm > heightMm) {
      pages.push([]);
      bottom = 0;
    }
    pages.at(-1)!.push(block);
    bottom += block.heightMm;
  }
  const [before, last] = [pages.at(-2), pages.at(-1)!];
  if (before && before.length > 2 && last.length === 1 && before.at(-1)!.heightMm + last[0]!.heightMm <= heightMm) {
    last.unshift(before.pop()!);
  }
  return pages.map((page, i) => {
    let topMm = i === 0 ? usedMm : 0;
    return page.map((block) => {
      const placed = { ...block, topMm };
      topMm += block.heightMm;
      return placed;
    });
  });
}

/** Widths of a letter, mm: those of the typeface at 9, 8 and 7 points, on the average of English text, plus a tenth. */
const LETTER_MM = { title: 1.75, name: 1.55, small: 1.25 } as const;

/** Estimates the greatest number of lines of a text in a width: the core knows no font. */
export function countLines(text: string, size: keyof typeof LETTER_MM, widthMm: number): number {
  return Math.ceil((text.length * LETTER_MM[size]) / widthMm);
}
