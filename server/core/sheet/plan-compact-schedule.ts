import { countLines, flowBlocks, type Placed } from './flow-blocks.ts';
import { measureTypeArea, type SheetFormat } from './paper.ts';
import {
  describeHead,
  listVariants,
  type ScheduleHead,
  type ScheduleSource,
  type SheetVariant,
} from './schedule-source.ts';

/** Variants side by side across the page. */
export interface CompactRow {
  readonly heightMm: number;
  readonly variants: readonly SheetVariant[];
}

export interface CompactSchedule extends ScheduleHead {
  readonly kind: 'compact-schedule';
  /** Which slot the numbers beside the finishes stand for, over every page. */
  readonly key: string;
  readonly keyMm: number;
  readonly pages: readonly (readonly Placed<CompactRow>[])[];
}

/**
 * Sizes of a cell, in mm: four abreast and eight rows to a page on either paper, with the head and up to five slots. The
 * text is 7 points, the least that is read with ease (common practice); finishes go by their codes.
 */
export const COMPACT_MM = {
  columns: 4,
  gap: 4,
  picture: 18,
  /** The code of the variant, over its finishes. */
  code: 3.2,
  choice: 2.9,
  /** The name, two lines. */
  name: 6,
  /** Between and around these, in all. */
  white: 3.2,
  /** Over the key. */
  head: 20.9,
  /** Of the key. */
  line: 3.1,
} as const;

/** Width of one cell in mm. */
export function measureCellWidth({ paper }: Pick<SheetFormat, 'paper'>): number {
  return (measureTypeArea(paper).widthMm - COMPACT_MM.gap * (COMPACT_MM.columns - 1)) / COMPACT_MM.columns;
}

/** Lays out the finish schedule of a product as a grid: up to thirty-two variants to a page, each with its picture and finishes. */
export function planCompactSchedule(source: ScheduleSource, format: SheetFormat): CompactSchedule {
  const said = COMPACT_MM.code + source.slots.length * COMPACT_MM.choice;
  const heightMm = Math.max(source.pictures ? COMPACT_MM.picture : 0, said) + COMPACT_MM.name + COMPACT_MM.white;
  const variants = listVariants(source);
  const rows: CompactRow[] = [];
  for (let at = 0; at < variants.length; at += COMPACT_MM.columns) {
    rows.push({ heightMm, variants: variants.slice(at, at + COMPACT_MM.columns) });
  }
  const { widthMm, heightMm: pageMm } = measureTypeArea(format.paper);
  const key = source.slots.map(({ label }, i) => `${i + 1} ${label}`).join(' · ');
  const keyMm = countLines(key, 'small', widthMm) * COMPACT_MM.line;
  return {
    kind: 'compact-schedule',
    ...describeHead(source, format),
    key,
    keyMm,
    pages: flowBlocks(rows, pageMm, COMPACT_MM.head + keyMm),
  };
}
