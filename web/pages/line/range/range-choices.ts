import { foldCode } from '../../../../server/core/codes.ts';
import type { Article } from '../../../../server/core/finish/finish.ts';
import { formatKey } from '../../../format.ts';

/** How finishes are chosen to be added to a range. */
export const ADD_WAYS = ['finish', 'article', 'family', 'tag', 'all'] as const;
export type AddWay = (typeof ADD_WAYS)[number];

interface Choosable {
  readonly finish: string;
  readonly name: string;
  readonly family: string;
  readonly article?: string;
  readonly tags?: readonly string[];
}

/** Several finishes that can be added in one go. */
export interface Choice {
  /** Code of the finish or the article, the family or the tag. */
  readonly value: string;
  readonly label: string;
  readonly finishes: readonly string[];
}

/** The choices by each way, with the finishes that each would add. @param others finishes outside the range */
export function listChoices(
  way: AddWay,
  others: readonly Choosable[],
  articles: readonly Article[],
): readonly Choice[] {
  const names = new Map(articles.map(({ article, name }) => [foldCode(article), name]));
  switch (way) {
    case 'finish':
      return others.map(({ finish, name }) => ({ value: finish, label: `${name}, ${finish}`, finishes: [finish] }));
    case 'article':
      return group(
        others,
        ({ article }) => (article === undefined ? [] : [foldCode(article)]),
        (key) => names.get(key) ?? key,
      );
    case 'family':
      return group(others, ({ family }) => [family], formatKey);
    case 'tag':
      return group(
        others,
        ({ tags = [] }) => tags,
        (tag) => tag,
      );
    case 'all':
      return others.length === 0 ? [] : [{ value: '', label: '', finishes: others.map(({ finish }) => finish) }];
  }
}

function group(
  others: readonly Choosable[],
  keysOf: (finish: Choosable) => readonly string[],
  labelOf: (key: string) => string,
): Choice[] {
  const groups = new Map<string, string[]>();
  for (const finish of others) {
    for (const key of new Set(keysOf(finish))) groups.set(key, [...(groups.get(key) ?? []), finish.finish]);
  }
  return [...groups]
    .map(([value, finishes]) => ({ value, label: labelOf(value), finishes }))
    .sort((a, b) => a.label.localeCompare(b.label, 'en'));
}
