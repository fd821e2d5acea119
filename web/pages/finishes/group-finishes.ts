import type { Article } from '../../../server/core/finish/finish.ts';
import type { Line } from '../../../server/core/line/line.ts';
import type { FinishAnswer } from '../../../server/http/contracts/finish.ts';
import { formatKey } from '../../format.ts';

export interface FinishGroup {
  readonly key: string;
  readonly title: string;
  /** What the finishes of an article share. */
  readonly note: string | null;
  readonly finishes: readonly FinishAnswer[];
}

/** Finishes by article, or by family where they have none; in the order in which each first appears. */
export function groupFinishes(finishes: readonly FinishAnswer[], articles: readonly Article[]): FinishGroup[] {
  const known = new Map(articles.map((article) => [article.article, article]));
  const groups = new Map<string, FinishAnswer[]>();
  for (const finish of finishes) {
    const key = `${finish.family} ${finish.article ?? ''}`;
    groups.set(key, [...(groups.get(key) ?? []), finish]);
  }
  return [...groups].map(([key, members]) => {
    const { family, article: code } = members[0]!;
    const article = code === undefined ? undefined : known.get(code);
    const kind = formatKey(family);
    return {
      key,
      title: article ? article.name : kind,
      note: article ? [kind, article.composition].filter(Boolean).join(', ') : null,
      finishes: members,
    };
  });
}

/** Grades a finish has, line by line: `A in quillmere`; one line alone needs no name. */
export function describeGrades(finish: string, lines: readonly Line[]): string | null {
  const found = lines.flatMap(({ line, range }) => {
    const entry = range.find((candidate) => candidate.finish === finish);
    return entry ? [{ line, grade: entry.grade ?? 'none', status: entry.status }] : [];
  });
  if (found.length === 0) return null;
  return found
    .map(({ line, grade, status }) => {
      const where = lines.length > 1 ? ` in ${line}` : '';
      return `${grade}${where}${status === 'current' ? '' : `, ${formatKey(status).toLowerCase()}`}`;
    })
    .join('; ');
}
