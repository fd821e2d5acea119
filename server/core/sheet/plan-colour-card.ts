import { foldCode } from '../codes.ts';
import { formatFamily } from '../finish/families.ts';
import type { Article } from '../finish/finish.ts';
import { formatDistance, formatGloss, formatSpecified } from '../finish/format-finish.ts';
import type { ResolvedFinish } from '../finish/resolve-finish.ts';
import { isSold, type RangedFinish } from '../line/line.ts';
import { planPanel } from '../picture/swatch.ts';
import { capitalise } from '../texts/format-text.ts';
import { countLines, flowBlocks, measureTypeArea, type Placed, type SheetFormat } from './page.ts';

/** A finish on the card: its colour as a flat field, and a description in words. */
export interface CardChip {
  readonly finish: string;
  readonly name: string;
  readonly hex: string;
  /**
   * Small print, one line each: code, grade and status; the colour as specified and converted; hex and distance; gloss.
   */
  readonly lines: readonly string[];
  /** Key of a picture of the finish at true scale in the field; null for a plain colour. */
  readonly panel: string | null;
  /** Key of a picture of the finish in studio light, beside the field; null except for metals. */
  readonly lit: string | null;
}

/** Neighbours in a row that belong to one article, or to one family where they have no article. */
export interface CardGroup {
  readonly title: string;
  readonly detail: string;
  /** Whether the group began in an earlier row: the title is repeated, without the detail. */
  readonly continued: boolean;
  /** The column of its first field, from 0. */
  readonly column: number;
  readonly chips: readonly CardChip[];
}

/** Fields side by side across the page, under the headings of their groups. */
export interface CardRow {
  readonly heightMm: number;
  /** Of the headings; 0 where the row only continues the group above. */
  readonly headingMm: number;
  readonly groups: readonly CardGroup[];
}

export interface ColourCard extends SheetFormat {
  readonly kind: 'colour-card';
  readonly title: string;
  /** Code of the line. */
  readonly line: string;
  /** `yyyy-mm-dd`. */
  readonly date: string;
  readonly finishes: number;
  /** Every colour in order, for the strip at the top. */
  readonly strip: readonly string[];
  /** Height of the fields. */
  readonly fieldMm: number;
  readonly pages: readonly (readonly Placed<CardRow>[])[];
}

/**
 * Sizes of the fields and their surroundings, in mm. Four fit side by side on either paper. Fifteen finishes fit one
 * page, each with its own article and as many lines as a finish can have. The text is 7 points, the smallest size that
 * is easy to read (common practice).
 */
export const CARD_MM = {
  columns: 4,
  gap: 5,
  /** Heights a field may have: the greatest that needs no further page. */
  fields: [24, 23, 22, 21, 20, 19, 18, 17, 16],
  /** Above the headings of a row. */
  above: 3,
  title: 4.2,
  detail: 2.9,
  /** Between a heading and its rule, the greatest height of headings with it, and the space under them. */
  overRule: 0.5,
  headingMost: 11.8,
  underHeading: 1,
  underField: 1.2,
  /** Of a line of a name; a name has two lines at most. */
  name: 3.6,
  line: 2.9,
  head: 22,
  /** Under a panel: the longest marks, and numerals with room around them. */
  ruler: { mark: 1.5, numeral: 2.2 },
} as const;

/** Width of one field in mm. */
export function measureChipWidth({ paper }: Pick<SheetFormat, 'paper'>): number {
  const { widthMm } = measureTypeArea(paper);
  return (widthMm - CARD_MM.gap * (CARD_MM.columns - 1)) / CARD_MM.columns;
}

/** Width of this many fields and the gaps between them, in mm. */
export function measureGroupWidth(format: Pick<SheetFormat, 'paper'>, chips: number): number {
  return chips * measureChipWidth(format) + (chips - 1) * CARD_MM.gap;
}

/** The contents of the card. */
interface CardSource {
  readonly line: { readonly line: string; readonly name: string };
  readonly range: readonly RangedFinish[];
  readonly resolve: (finish: string) => ResolvedFinish;
  readonly articleOf: (finish: string) => Article | null;
  readonly date: string;
  /** Whether patterned finishes appear as pieces at true scale, and metals lit; otherwise all are flat fields. */
  readonly panels: boolean;
}

/** Whether a finish has maps that repeat at a stated size: a flat field would not show its look. */
export function isPatterned({ tile, supplied }: Pick<ResolvedFinish, 'tile' | 'supplied'>): boolean {
  return tile !== null && supplied === null;
}

/** Whether a finish needs light to reflect to show its look. */
export const isMetal = ({ metalness }: Pick<ResolvedFinish, 'metalness'>): boolean => metalness === 1;

/** Added after the title of a group that began in an earlier row. */
export const CONTINUED = ', continued';

/** The keys of a finish's pictures on the card. */
export const toPanelKey = (finish: string): string => `panel ${finish}`;
export const toLitKey = (finish: string): string => `lit ${finish}`;

/**
 * Lays out the colour card of a line: its current finishes, by article, within an article by grade, in the range's
 * order. Finishes without an article are grouped by family. Rows are filled: a group begins beside the one before, and
 * continues in the next row. Pure: the same line on the same day gives the same card.
 */
export function planColourCard(source: CardSource, format: SheetFormat): ColourCard {
  const { line, range, resolve, date } = source;
  const sold = range.filter(({ status }) => isSold(status));
  const groups = groupBy(sold, ({ finish }) =>
    finish.article === undefined ? `family ${finish.family}` : foldCode(finish.article),
  ).map((group) => describeGroup(group, source));
  const rows = inRows(groups);
  const flow = (fieldMm: number) => ({
    fieldMm,
    pages: flowBlocks(
      rows.map((row) => measureRow(row, fieldMm, format)),
      measureTypeArea(format.paper).heightMm,
      CARD_MM.head,
    ),
  });
  const flows = CARD_MM.fields.map(flow);
  const fewest = flows.at(-1)!.pages.length;
  return {
    kind: 'colour-card',
    ...format,
    title: line.name,
    line: line.line,
    date,
    finishes: sold.length,
    strip: sold.map(({ finish }) => resolve(finish.finish).hex),
    ...flows.find(({ pages }) => pages.length === fewest)!,
  };
}

type Group = Pick<CardGroup, 'title' | 'detail' | 'chips'>;

function describeGroup(group: readonly RangedFinish[], { articleOf, resolve, panels }: CardSource): Group {
  const { finish } = group[0]!;
  const article = articleOf(finish.finish);
  const family = capitalise(formatFamily(finish.family));
  return {
    title: article?.name ?? family,
    detail: article ? [family, article.composition].filter(Boolean).join(' · ') : '',
    chips: groupBy(group, ({ grade }) => grade ?? '')
      .flat()
      .map((item) => describeChip(item, resolve(item.finish.finish), panels)),
  };
}

function describeChip(
  { finish, grade, status, lastOrder }: RangedFinish,
  resolved: ResolvedFinish,
  panels: boolean,
): CardChip {
  const leaving = status !== 'phase-out' ? [] : [lastOrder ? `until ${lastOrder}` : 'being phased out'];
  return {
    finish: finish.finish,
    name: finish.name,
    hex: resolved.hex,
    lines: [
      [finish.finish, ...(grade === null ? [] : [`grade ${grade}`]), ...leaving].join(' · '),
      ...formatSpecified(resolved),
      formatDistance(resolved),
      formatGloss(resolved),
    ],
    panel: panels && isPatterned(resolved) ? toPanelKey(finish.finish) : null,
    lit: panels && isMetal(resolved) ? toLitKey(finish.finish) : null,
  };
}

/** Fills rows with the fields of all groups, one after another. */
function inRows(groups: readonly Group[]): CardGroup[][] {
  const rows: CardGroup[][] = [];
  let column = 0;
  for (const { title, detail, chips } of groups) {
    for (let at = 0; at < chips.length; ) {
      if (column === 0) rows.push([]);
      const taken = chips.slice(at, at + CARD_MM.columns - column);
      rows.at(-1)!.push({ title, detail: at === 0 ? detail : '', continued: at > 0, column, chips: taken });
      at += taken.length;
      column = (column + taken.length) % CARD_MM.columns;
    }
  }
  return rows;
}

function measureRow(groups: readonly CardGroup[], fieldMm: number, format: SheetFormat): CardRow {
  const only = groups.length === 1 && groups[0]!.continued;
  const headingMm = only ? 0 : Math.max(...groups.map((group) => measureHeading(group, format)));
  const text = Math.max(...groups.flatMap(({ chips }) => chips.map((chip) => measureText(chip, format))));
  return { heightMm: CARD_MM.above + headingMm + fieldMm + CARD_MM.underField + text, headingMm, groups };
}

/** Height of a group's heading, and the space under it. */
function measureHeading({ title, detail, continued, chips }: CardGroup, format: SheetFormat): number {
  const width = measureGroupWidth(format, chips.length);
  const titles = countLines(continued ? title + CONTINUED : title, 'title', width) * CARD_MM.title;
  const details = countLines(detail, 'small', width) * CARD_MM.detail;
  return Math.min(CARD_MM.headingMost, titles + details + CARD_MM.overRule) + CARD_MM.underHeading;
}

/** Height of the text under a field. */
function measureText({ name, lines }: CardChip, format: SheetFormat): number {
  const names = Math.min(2, countLines(name, 'name', measureChipWidth(format)));
  return names * CARD_MM.name + lines.length * CARD_MM.line;
}

/** Groups in the order of their first members. */
function groupBy<T>(items: readonly T[], keyOf: (item: T) => string): T[][] {
  const groups = new Map<string, T[]>();
  for (const item of items) {
    const group = groups.get(keyOf(item));
    if (group) group.push(item);
    else groups.set(keyOf(item), [item]);
  }
  return [...groups.values()];
}

/** Pixels per inch of a picture on the card, the resolution that print asks for (common practice). */
const PPI = 300;

/**
 * The picture of a panel in a field of the card, 1 : 1: a piece as wide as the field. The field shows the part below
 * its gloss.
 */
interface CardPanel {
  /** Width of the piece, equal to that of the field. */
  readonly widthMm: number;
  /** Side of the picture to render, px. */
  readonly sizePx: number;
  /** The whole picture behind the field: its side, and its corner relative to the field's, both negative. */
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

/** Side of the picture of a lit metal, which is as high as the highest field. */
export const LIT_PX = Math.round((Math.max(...CARD_MM.fields) / 25.4) * PPI);

/** A mark of a ruler, in mm from its left: longer at five and ten, with a numeral at every ten. */
interface RulerMark {
  readonly atMm: number;
  readonly lengthMm: number;
  readonly numeral: string | null;
}

/** Half the width of two numerals in 5 points. */
const NUMERAL_HALF_MM = 1.2;

/**
 * Marks of the ruler under a panel, one for each whole millimetre. A numeral that would extend past the end is left
 * out.
 */
export function listRulerMarks(widthMm: number): RulerMark[] {
  const { mark } = CARD_MM.ruler;
  return Array.from({ length: Math.floor(widthMm) + 1 }, (_, atMm) => ({
    atMm,
    lengthMm: atMm % 10 === 0 ? mark : atMm % 5 === 0 ? mark * 0.7 : mark * 0.45,
    numeral: atMm % 10 === 0 && atMm + NUMERAL_HALF_MM <= widthMm ? String(atMm) : null,
  }));
}
