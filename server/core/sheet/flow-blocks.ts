/** Something that stands across the type area. */
export interface Block {
  readonly heightMm: number;
}

export type Placed<B extends Block> = B & { readonly topMm: number };

/**
 * Lays blocks on pages, in order, from the top. A block that is higher than a page has one to itself. The last page never
 * has a single block where the page before can spare it one.
 * @param heightMm of the type area
 * @param usedMm what the first page has already given away
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

/** Widths of a letter, mm: those of the face at 9, 8 and 7 points, on the average of English text, and a tenth more. */
const LETTER_MM = { title: 1.75, name: 1.55, small: 1.25 } as const;

/** How many lines a text takes in a width, at most, as a rule: the core knows no font. */
export function countLines(text: string, size: keyof typeof LETTER_MM, widthMm: number): number {
  return Math.ceil((text.length * LETTER_MM[size]) / widthMm);
}
