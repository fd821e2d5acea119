import { foldCode } from '../codes.ts';
import { sayFamily } from '../finish/families.ts';
import type { Article } from '../finish/finish.ts';
import type { ResolvedFinish } from '../finish/resolve-finish.ts';
import { isSold, type RangedFinish } from '../line/options.ts';
import { flowBlocks, type Placed } from './flow-blocks.ts';
import { measureTypeArea, type SheetFormat } from './paper.ts';
import { sayDistance, sayGloss, saySpecified } from './say-finish.ts';

/** A finish on the card: its colour as a flat field, and what is known of it in words. */
export interface CardChip {
  readonly finish: string;
  readonly name: string;
  readonly hex: string;
  /** Small print, one line each: family and status; the colour as specified and converted; hex and distance; gloss. */
  readonly lines: readonly string[];
  /** Key of a picture of the finish at true scale that stands in the field: its code; null for a plain colour. */
  readonly panel: string | null;
}

export type CardBlock =
  | { readonly kind: 'article'; readonly heightMm: number; readonly keepWithNext: true; title: string; detail: string }
  | { readonly kind: 'grade'; readonly heightMm: number; readonly keepWithNext: true; title: string }
  | { readonly kind: 'chips'; readonly heightMm: number; readonly chips: readonly CardChip[] };

export interface ColourCard extends SheetFormat {
  readonly kind: 'colour-card';
  readonly title: string;
  /** Code of the line. */
  readonly line: string;
  /** `yyyy-mm-dd`. */
  readonly date: string;
  readonly finishes: number;
  /** Every colour in order, for the strip along the head. */
  readonly strip: readonly string[];
  readonly pages: readonly (readonly Placed<CardBlock>[])[];
}

/** The fields and what stands round them, in mm. A field is as wide as four stand abreast on either paper. */
export const CARD_MM = {
  columns: 4,
  gap: 5,
  chipHeight: 25,
  /** Of the marks along the lower edge of a panel. */
  ruler: 1.6,
  /** The name and `textLines` lines of small print. */
  textHeight: 20.5,
  textLines: 4,
  /** Each line more: of a conversion, of a metal. */
  line: 3.1,
  head: 28,
  article: 14,
  grade: 7,
} as const;

/** Width of one field in mm. */
export function measureChipWidth({ paper }: SheetFormat): number {
  const { widthMm } = measureTypeArea(paper);
  return (widthMm - CARD_MM.gap * (CARD_MM.columns - 1)) / CARD_MM.columns;
}

/** What the card is made of. */
export interface CardSource {
  readonly line: { readonly line: string; readonly name: string };
  readonly range: readonly RangedFinish[];
  readonly resolve: (finish: string) => ResolvedFinish;
  readonly articleOf: (finish: string) => Article | null;
  readonly date: string;
  /** Whether patterned finishes are shown as pieces at true scale; else every finish stands as a flat field. */
  readonly panels: boolean;
}

/** Whether a finish has maps that repeat at a stated size: a flat field would not show what it looks like. */
export function isPatterned({ tile, supplied }: Pick<ResolvedFinish, 'tile' | 'supplied'>): boolean {
  return tile !== null && supplied === null;
}

/**
 * Lays out the colour card of a line: what it sells now, by article, within an article by grade, in the range's order.
 * Finishes without an article stand by family. Pure: the same line on the same day gives the same card.
 */
export function planColourCard(source: CardSource, format: SheetFormat): ColourCard {
  const { line, range, resolve, articleOf, date, panels } = source;
  const sold = range.filter(({ status }) => isSold(status));
  const blocks = groupBy(sold, ({ finish }) =>
    finish.article === undefined ? `family ${finish.family}` : foldCode(finish.article),
  ).flatMap((group) => {
    const { finish } = group[0]!;
    const article = articleOf(finish.finish);
    const family = sayFamily(finish.family);
    const heading: CardBlock = {
      kind: 'article',
      heightMm: CARD_MM.article,
      keepWithNext: true,
      title: article?.name ?? upperFirst(family),
      detail: article ? [upperFirst(family), article.composition].filter(Boolean).join(' · ') : '',
    };
    const grades = groupBy(group, ({ grade }) => grade ?? '').flatMap((graded): CardBlock[] => {
      const { grade } = graded[0]!;
      const title: CardBlock[] =
        grade === null
          ? []
          : [{ kind: 'grade', heightMm: CARD_MM.grade, keepWithNext: true, title: `Price grade ${grade}` }];
      return [...title, ...inRows(graded.map((item) => describeChip(item, resolve(item.finish.finish), panels)))];
    });
    return [heading, ...grades];
  });
  return {
    kind: 'colour-card',
    ...format,
    title: line.name,
    line: line.line,
    date,
    finishes: sold.length,
    strip: sold.map(({ finish }) => resolve(finish.finish).hex),
    pages: flowBlocks(blocks, measureTypeArea(format.paper).heightMm, CARD_MM.head),
  };
}

function describeChip(
  { finish, status, lastOrder }: RangedFinish,
  resolved: ResolvedFinish,
  panels: boolean,
): CardChip {
  const leaving = status !== 'phase-out' ? '' : lastOrder ? ` · until ${lastOrder}` : ' · being phased out';
  return {
    finish: finish.finish,
    name: finish.name,
    hex: resolved.hex,
    lines: [
      `${finish.finish} · ${sayFamily(finish.family)}${leaving}`,
      ...saySpecified(resolved),
      sayDistance(resolved),
      sayGloss(resolved),
    ],
    panel: panels && isPatterned(resolved) ? finish.finish : null,
  };
}

function inRows(chips: readonly CardChip[]): CardBlock[] {
  const rows: CardBlock[] = [];
  for (let at = 0; at < chips.length; at += CARD_MM.columns) {
    const row = chips.slice(at, at + CARD_MM.columns);
    const more = CARD_MM.line * Math.max(0, ...row.map(({ lines }) => lines.length - CARD_MM.textLines));
    rows.push({ kind: 'chips', heightMm: CARD_MM.chipHeight + CARD_MM.textHeight + more, chips: row });
  }
  return rows;
}

/** Groups in the order their first member stands in. */
function groupBy<T>(items: readonly T[], keyOf: (item: T) => string): T[][] {
  const groups = new Map<string, T[]>();
  for (const item of items) {
    const group = groups.get(keyOf(item));
    if (group) group.push(item);
    else groups.set(keyOf(item), [item]);
  }
  return [...groups.values()];
}

const upperFirst = (text: string) => text.charAt(0).toUpperCase() + text.slice(1);
