import { foldCode } from '../../../../server/core/codes.ts';
import type { Article } from '../../../../server/core/finish/finish.ts';
import type { RangeEntry } from '../../../../server/core/line/line.ts';
import type { FinishAnswer } from '../../../../server/http/contracts/finish.ts';
import { formatKey } from '../../../format.ts';

export interface RangeItem {
  readonly entry: RangeEntry;
  /** Null where the library does not hold it any more. */
  readonly finish: FinishAnswer | null;
  readonly name: string;
}

export interface RangeRow {
  readonly key: string;
  readonly title: string;
  /** What the article is made of, or the family. */
  readonly note: string;
  /** In the order of the grades. */
  readonly cells: readonly (readonly RangeItem[])[];
  readonly items: readonly RangeItem[];
}

export interface RangeSheet {
  /** Null stands for finishes without a grade, and comes last. */
  readonly grades: readonly (string | null)[];
  readonly rows: readonly RangeRow[];
}

/**
 * The range as a table: a row for each article, and for the finishes of a family that have none; a column for each grade.
 * Rows stand in the order in which the range first names them.
 * @param finishes by code as the range has it
 */
export function groupRange(
  range: readonly RangeEntry[],
  finishes: ReadonlyMap<string, FinishAnswer>,
  articles: readonly Article[],
): RangeSheet {
  const byCode = new Map(articles.map((article) => [foldCode(article.article), article]));
  const words = new Set(range.flatMap(({ grade }) => grade ?? []));
  const grades: (string | null)[] = [...words].sort((a, b) => a.localeCompare(b, 'en', { numeric: true }));
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
    const kind = family === '' ? 'Not in the library' : formatKey(family);
    return {
      key,
      title: article?.name ?? kind,
      note: article ? (article.composition ?? kind) : 'No article',
      cells: grades.map((grade) => items.filter(({ entry }) => (entry.grade ?? null) === grade)),
      items,
    };
  });
  return { grades, rows };
}

/** Where a finish is in its life, beside its name; null for one that is simply on sale. */
export function sayStatus({ status, lastOrder, replacedBy }: RangeEntry): string | null {
  const instead = replacedBy === undefined ? '' : `, then ${replacedBy}`;
  if (status === 'planned') return 'planned';
  if (status === 'phase-out') return `${lastOrder === undefined ? 'in phase-out' : `until ${lastOrder}`}${instead}`;
  if (status === 'discontinued')
    return replacedBy === undefined ? 'discontinued' : `discontinued, ${replacedBy} instead`;
  return null;
}

/** “41 finishes: 39 current, 1 planned, 1 in phase-out.” */
export function sayRange(range: readonly RangeEntry[]): string {
  const parts = (
    [
      ['current', 'current'],
      ['planned', 'planned'],
      ['phase-out', 'in phase-out'],
      ['discontinued', 'discontinued'],
    ] as const
  ).flatMap(([status, words]) => {
    const n = range.filter((entry) => entry.status === status).length;
    return n > 0 ? [`${n} ${words}`] : [];
  });
  return `${range.length} ${range.length === 1 ? 'finish' : 'finishes'}: ${parts.join(', ')}.`;
}
