import { NUMBERED_AT_ONCE, type NumberedQuery } from './contracts/schema-parts.ts';

/**
 * A page of entries that are listed newest first. `after` is the number of the last entry of the page before, so that a new entry
 * moves nothing.
 */
export function pageNumbered<Entry>(
  all: readonly Entry[],
  numberOf: (entry: Entry) => number,
  { limit = NUMBERED_AT_ONCE, after }: NumberedQuery,
): { readonly page: readonly Entry[]; readonly rest: { readonly next?: number } } {
  const from = after === undefined || after === 0 ? all : all.filter((entry) => numberOf(entry) < after);
  const page = from.slice(0, limit);
  return { page, rest: from.length > limit ? { next: numberOf(page.at(-1)!) } : {} };
}
