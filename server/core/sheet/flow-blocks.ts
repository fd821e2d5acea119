/** Something that stands across the type area. */
export interface Block {
  readonly heightMm: number;
  /** Never the last thing on a page: a heading stays with what it is over. */
  readonly keepWithNext?: boolean;
}

export type Placed<B extends Block> = B & { readonly topMm: number };

/**
 * Lays blocks on pages, in order, from the top. A block that is higher than a page has one to itself.
 * @param heightMm of the type area
 * @param usedMm what the first page has already given away
 */
export function flowBlocks<B extends Block>(blocks: readonly B[], heightMm: number, usedMm = 0): Placed<B>[][] {
  const pages: Placed<B>[][] = [[]];
  let top = usedMm;
  for (let at = 0; at < blocks.length; ) {
    const run = takeRun(blocks, at);
    const needed = run.reduce((sum, block) => sum + block.heightMm, 0);
    const page = pages.at(-1)!;
    if (top + needed > heightMm && page.length + (pages.length === 1 ? usedMm : 0) > 0) {
      pages.push([]);
      top = 0;
    }
    for (const block of run) {
      pages.at(-1)!.push({ ...block, topMm: top });
      top += block.heightMm;
    }
    at += run.length;
  }
  return pages;
}

/** The blocks from `start` that may not be parted: headings, and the first block under them. */
function takeRun<B extends Block>(blocks: readonly B[], start: number): B[] {
  let end = start;
  while (blocks[end]!.keepWithNext && end + 1 < blocks.length) end++;
  return blocks.slice(start, end + 1);
}
