import type { Article, Finish } from '../finish/finish.ts';
import { SLICE, type Sliced } from '../slices.ts';
import type { RuleScope } from './rules.ts';

/**
 * A scope in few texts, to pass it between threads. A product without a line may have every finish of the library: fifty thousand
 * objects take a tenth of a second to copy, their texts a few milliseconds.
 */
export interface PackedScope extends Pick<RuleScope, 'slots' | 'line'> {
  readonly packed: PackedFinishes;
}

/** JSON of lists of entries, some hundreds in each text. */
export interface PackedFinishes {
  readonly finishes: readonly string[];
  readonly articles: readonly string[];
}

/** Packs entries in slices. @param plain the fields that matter */
export function* packEntries<T>(
  entries: Iterable<readonly [string, T]>,
  plain: (value: T) => unknown,
): Sliced<string[]> {
  const texts: string[] = [];
  let part: [string, unknown][] = [];
  for (const [key, value] of entries) {
    part.push([key, plain(value)]);
    if (part.length < SLICE) continue;
    texts.push(JSON.stringify(part));
    part = [];
    yield;
  }
  if (part.length > 0) texts.push(JSON.stringify(part));
  return texts;
}

export function unpackScope(scope: RuleScope | PackedScope): RuleScope {
  if (!('packed' in scope)) return scope;
  const { packed, ...rest } = scope;
  return { ...rest, finishes: unpack<Finish>(packed.finishes), articles: unpack<Article>(packed.articles) };
}

function unpack<T>(texts: readonly string[]): Map<string, T> {
  return new Map(texts.flatMap((text) => JSON.parse(text) as [string, T][]));
}
