import { foldCode } from '../../../../server/core/codes.ts';
import type { Article } from '../../../../server/core/finish/finish.ts';
import type { RangeEntry } from '../../../../server/core/line/line.ts';
import type { FinishAnswer } from '../../../../server/http/contracts/finish.ts';
import type { DiscontinueAnswer, WhereUsedAnswer } from '../../../../server/http/contracts/line.ts';
import { formatKey } from '../../../format.ts';
import { lineTexts } from '../../../texts/line.ts';

const texts = lineTexts.range;

export interface RangeItem {
  readonly entry: RangeEntry;
  /** Null if the library no longer has it. */
  readonly finish: FinishAnswer | null;
  readonly name: string;
}

export interface RangeRow {
  readonly key: string;
  readonly title: string;
  /** Composition or family of the article. */
  readonly note: string;
  /** One cell for each grade, in the order of the grades. */
  readonly cells: readonly (readonly RangeItem[])[];
  readonly items: readonly RangeItem[];
}

interface RangeSheet {
  /** Null stands for finishes without a grade and comes last. */
  readonly grades: readonly (string | null)[];
  readonly rows: readonly RangeRow[];
}

/**
 * The range as a table. Each article has a row, as do the finishes of a family without an article; each grade has a column.
 * Rows follow the order in which the range first names them.
 * @param finishes by code, spelled as in the range
 */
export function groupRange(
  range: readonly RangeEntry[],
  finishes: ReadonlyMap<string, FinishAnswer>,
  articles: readonly Article[],
): RangeSheet {
  const byCode = new Map(articles.map((article) => [foldCode(article.article), article]));
  const known = new Set(range.flatMap(({ grade }) => grade ?? []));
  const grades: (string | null)[] = [...known].sort((a, b) => a.localeCompare(b, 'en', { numeric: true }));
  if (range.some(({ grade }) => grade === undefined)) grades.push(null);
  const groups = new Map<string, { article: Article | null; family: string; items: RangeItem[] }>();
  for (const entry of range) {
    const finish = finishes.get(entry.finish) ?? null;
    const article = (finish?.article !== undefined && byCode.get(foldCode(finish.article))) || null;
    const family = article?.family ?? finish?.family ?? '';
    const key = article ? `article-${article.article}` : `family-${family}`;
    const group = groups.get(key) ?? { article, family, items: [] };
    groups.set(key, group);
    group.items.push({ entry, finish, name: finish?.name ?? entry.finish });
  }
  const rows = [...groups].map(([key, { article, family, items }]): RangeRow => {
    const familyName = family === '' ? texts.notInLibrary : formatKey(family);
    return {
      key,
      title: article?.name ?? familyName,
      note: article ? (article.composition ?? familyName) : texts.noArticle,
      cells: grades.map((grade) => items.filter(({ entry }) => (entry.grade ?? null) === grade)),
      items,
    };
  });
  return { grades, rows };
}

/** The status of a finish, next to its name: “until 2039-03-31, then FEL-142”; null for a current finish. */
export function describeStatus({ status, lastOrder, replacedBy }: RangeEntry): string | null {
  switch (status) {
    case 'current':
      return null;
    case 'planned':
      return texts.planned;
    case 'phase-out':
      return texts.phaseOut(lastOrder) + (replacedBy === undefined ? '' : texts.followedBy(replacedBy));
    case 'discontinued':
      return texts.discontinued + (replacedBy === undefined ? '' : texts.replacedBy(replacedBy));
  }
}

/** “41 finishes: 39 current, 1 planned, 1 in phase-out.” */
export function describeRange(range: readonly RangeEntry[]): string {
  const counts = (['current', 'planned', 'phase-out', 'discontinued'] as const).flatMap((status) => {
    const n = range.filter((entry) => entry.status === status).length;
    return n > 0 ? [texts.statusCounts[status](n)] : [];
  });
  return texts.summary(range.length, counts);
}

/** Where a finish is used apart from the range of this line, in sentences. */
export function describeUses(uses: WhereUsedAnswer, line: string): string[] {
  const texts = lineTexts.uses;
  const here = uses.lines.find((use) => use.line === line);
  const otherLines = uses.lines.filter((use) => use.line !== line).map(({ name }) => name);
  const sentences = [
    uses.schedules.length > 0
      ? texts.schedules(uses.schedules.map(({ product, variants }) => [product, variants]))
      : texts.noSchedule,
    uses.deliveries.length > 0 && texts.deliveries(uses.deliveries.map(({ product, delivery }) => [product, delivery])),
    here && here.positions.length > 0 && texts.options(here.positions),
    ...(here?.rules ?? []).map((rule) => texts.rule(rule.replace(/\.$/, ''))),
    here && here.replaces.length > 0 && texts.replaces(here.replaces),
    otherLines.length > 0 && texts.otherLines(otherLines),
    uses.companionOf.length > 0 &&
      texts.companionOf(uses.companionOf.map(({ finish, article, positions }) => [finish ?? article ?? '', positions])),
  ];
  return sentences.filter((sentence) => typeof sentence === 'string');
}

export interface DiscontinueDescription {
  /** The outcome for the finish itself. */
  readonly lead: string;
  readonly products: readonly {
    readonly product: string;
    readonly reminted: readonly { readonly from: string; readonly to: string; readonly name: string }[];
    readonly withdrawn: readonly { readonly code: string; readonly detail: string }[];
    readonly summary: string;
  }[];
  /** Deliveries and pictures to make again, each as a sentence. */
  readonly due: readonly string[];
}

/** The outcome of discontinuing a finish, or the preview of it. */
export function describeDiscontinue(answer: DiscontinueAnswer): DiscontinueDescription {
  const texts = lineTexts.discontinue;
  const { finish, replacedBy, preview, products, deliveriesDue, picturesDue } = answer;
  return {
    lead: texts.lead(finish, replacedBy, !preview, products.length > 0),
    products: products.map(({ product, reminted, withdrawn, default: moved, variants }) => ({
      product,
      reminted,
      withdrawn,
      summary: `${texts.remaining(variants)} ${
        moved === null ? texts.sameDefault : texts.movedDefault(moved.from, moved.to, !preview)
      }`,
    })),
    due: [
      ...deliveriesDue.map(({ product, delivery }) => texts.deliveryDue(product, delivery)),
      ...picturesDue.map(({ product, variants }) => texts.picturesDue(product, variants)),
    ],
  };
}
