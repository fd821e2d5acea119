import type { ResolvedFinish } from '../finish/resolve-finish.ts';
import { choiceOf, type Variant } from '../schedule/schedule.ts';
import { countLines, flowBlocks, measureTypeArea, type Placed, type SheetFormat } from './page.ts';

/** `detailed`: a row for each variant, with names. `compact`: a grid, with codes. */
export const SCHEDULE_FORMS = ['detailed', 'compact'] as const;
export type ScheduleForm = (typeof SCHEDULE_FORMS)[number];

/** The contents of a printed schedule, in either form. */
export interface ScheduleSource {
  readonly product: { readonly code: string; readonly name: string };
  readonly subtitle: string;
  readonly date: string;
  readonly size: string | null;
  readonly slots: readonly { readonly slot: string; readonly label: string }[];
  readonly variants: readonly Pick<Variant, 'code' | 'name' | 'choices'>[];
  readonly defaultCode: string | null;
  readonly resolve: (finish: string) => ResolvedFinish;
  /** Whether every variant has a picture, with its code as the key. */
  readonly pictures: boolean;
}

/** The heading of a schedule. */
export interface ScheduleHead extends SheetFormat {
  readonly title: string;
  /** `Finish schedule`, `Check set: every allowed pair once` … */
  readonly subtitle: string;
  /** Code of the product. */
  readonly product: string;
  readonly date: string;
  /** Overall size in words; null without a model. */
  readonly size: string | null;
  /** Number of variants. */
  readonly rows: number;
}

/** A finish in one slot of a variant. */
interface SheetChoice {
  readonly slot: string;
  readonly finish: string;
  readonly name: string;
  readonly hex: string;
}

/** A variant on the sheet. */
export interface SheetVariant {
  readonly code: string;
  readonly name: string;
  /** Whether the product is shown in this variant first. */
  readonly isDefault: boolean;
  /** By slot, in their order; null where the variant has no finish. */
  readonly choices: readonly (SheetChoice | null)[];
  /** Key of its picture among those passed with the sheet; null where there is none. */
  readonly picture: string | null;
}

function describeHead({ product, subtitle, date, size, variants }: ScheduleSource, format: SheetFormat): ScheduleHead {
  return { ...format, title: product.name, subtitle, product: product.code, date, size, rows: variants.length };
}

export function listVariants({ slots, variants, defaultCode, resolve, pictures }: ScheduleSource): SheetVariant[] {
  return variants.map(({ code, name, choices }) => ({
    code,
    name,
    isDefault: code === defaultCode,
    choices: slots.map(({ slot, label }) => {
      const finish = choiceOf(choices, slot);
      if (finish === undefined) return null;
      const { name: finishName, hex } = resolve(finish);
      return { slot: label, finish, name: finishName, hex };
    }),
    picture: pictures ? code : null,
  }));
}

export interface SheetRow extends SheetVariant {
  readonly heightMm: number;
}

export interface ScheduleSheet extends ScheduleHead {
  readonly kind: 'schedule';
  readonly pages: readonly (readonly Placed<SheetRow>[])[];
}

/** Sizes of a row and the head above the first one, in mm. */
export const SCHEDULE_MM = { picture: 32, row: 36, plainRow: 18, choice: 4.6, head: 26 } as const;

/** Lays out the finish schedule of a product: one row for each variant, its picture, and a finish for every slot. */
export function planScheduleSheet(source: ScheduleSource, format: SheetFormat): ScheduleSheet {
  const least = source.pictures ? SCHEDULE_MM.row : SCHEDULE_MM.plainRow;
  const rows = listVariants(source).map((variant): SheetRow => {
    const chosen = variant.choices.filter((choice) => choice !== null);
    return { ...variant, heightMm: Math.max(least, 5 + chosen.length * SCHEDULE_MM.choice) };
  });
  return {
    kind: 'schedule',
    ...describeHead(source, format),
    pages: flowBlocks(rows, measureTypeArea(format.paper).heightMm, SCHEDULE_MM.head),
  };
}

/** Variants side by side across the page. */
interface CompactRow {
  readonly heightMm: number;
  readonly variants: readonly SheetVariant[];
}

export interface CompactSchedule extends ScheduleHead {
  readonly kind: 'compact-schedule';
  /** The slots that the numbers beside the finishes mean, for all pages. */
  readonly key: string;
  readonly keyMm: number;
  readonly pages: readonly (readonly Placed<CompactRow>[])[];
}

/**
 * Sizes of a cell, in mm: four side by side and eight rows per page on either paper, with the head and up to five
 * slots. The text is 7 points, the smallest size that is easy to read (common practice); finishes appear by their
 * codes.
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
  /** Between and around these, in total. */
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

/**
 * Lays out the finish schedule of a product as a grid: up to thirty-two variants per page, each with its picture and
 * finishes.
 */
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
