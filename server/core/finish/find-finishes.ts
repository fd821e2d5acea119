import { foldCode } from '../codes.ts';
import { deltaE2000, type Lab } from '../colour/lab.ts';
import { makeWordTest } from '../find-words.ts';
import type { Family, StoredFinish } from './finish.ts';

/** Search terms for finishes. All given terms must match. */
export interface FinishQuery {
  /** Part of a code, a name in any language, a supplier, a reference or a note, ignoring case; each word must occur. */
  readonly text?: string;
  readonly family?: Family;
  readonly tag?: string;
  readonly article?: string;
}

/** Tests finishes against a query. */
export function makeFinishTest({ text = '', family, tag, article }: FinishQuery): (finish: StoredFinish) => boolean {
  const hasWords = makeWordTest(text);
  return (finish) =>
    (family === undefined || finish.family === family) &&
    (tag === undefined || (finish.tags?.includes(tag) ?? false)) &&
    (article === undefined || foldCode(finish.article ?? '') === foldCode(article)) &&
    hasWords(listTexts(finish));
}

function listTexts({ finish, name, names = {}, supplier, note, reference }: StoredFinish): (string | undefined)[] {
  return [finish, name, ...Object.values(names), supplier, note, reference?.system, reference?.code];
}

export interface Near<T> {
  readonly item: T;
  /** CIEDE2000 to the search colour. */
  readonly deltaE: number;
}

/** Colours sorted by lightness, to find near ones without comparing all with all. */
interface ColourIndex<T> {
  /** The nearest accepted items by ΔE00, nearest first; equal distances in the given order. */
  listNearest(lab: Lab, limit: number, accept?: (item: T) => boolean): Near<T>[];
  /** Accepted pairs no farther apart than `deltaE`, nearest first; at most `limit`. */
  listPairs(
    deltaE: number,
    limit: number,
    accept?: (a: T, b: T) => boolean,
  ): { readonly a: T; readonly b: T; readonly deltaE: number }[];
}

/**
 * CIEDE2000 is at least the difference in lightness over S_L, and S_L is at most 1 + 0.015 · 50² / √(20 + 50²). So
 * colours whose lightness differs by more than a distance times this are farther apart overall. (The chroma and hue
 * terms add a quadratic form that is never negative, since its rotation term lies between −2 and 2.)
 */
const MOST_PER_DELTA_E = 1 + (0.015 * 2500) / Math.sqrt(20 + 2500);

/** @param labOf CIE Lab of an item, all under one illuminant and observer */
export function makeColourIndex<T>(items: readonly T[], labOf: (item: T) => Lab): ColourIndex<T> {
  const entries = items
    .map((item, order) => ({ item, order, lab: labOf(item) }))
    .sort((a, b) => a.lab[0] - b.lab[0] || a.order - b.order);

  return {
    listNearest(lab, limit, accept = () => true) {
      type Found = { readonly entry: (typeof entries)[number]; readonly deltaE: number };
      const found: Found[] = [];
      const compare = (a: Found, b: Found) => a.deltaE - b.deltaE || a.entry.order - b.entry.order;
      const findPlace = (sorted: readonly Found[], wanted: Found) => {
        let low = 0;
        let high = sorted.length;
        while (low < high) {
          const middle = (low + high) >> 1;
          if (compare(sorted[middle]!, wanted) < 0) low = middle + 1;
          else high = middle;
        }
        return low;
      };
      let reach = Number.POSITIVE_INFINITY;
      const look = (at: number) => {
        const entry = entries[at]!;
        if (!accept(entry.item)) return;
        const deltaE = deltaE2000(lab, entry.lab);
        if (found.length === limit && deltaE > reach) return;
        // sorted only once a full list decides what is near enough
        if (found.length < limit) {
          found.push({ entry, deltaE });
          if (found.length === limit) found.sort(compare);
        } else {
          found.splice(findPlace(found, { entry, deltaE }), 0, { entry, deltaE });
          found.pop();
        }
        if (found.length === limit) reach = found[limit - 1]!.deltaE;
      };
      let above = findFirst(entries, lab[0]);
      let below = above - 1;
      while (limit > 0 && (below >= 0 || above < entries.length)) {
        const down = below >= 0 ? lab[0] - entries[below]!.lab[0] : Number.POSITIVE_INFINITY;
        const up = above < entries.length ? entries[above]!.lab[0] - lab[0] : Number.POSITIVE_INFINITY;
        if (Math.min(down, up) > reach * MOST_PER_DELTA_E) break;
        look(down <= up ? below-- : above++);
      }
      return found.sort(compare).map(({ entry, deltaE }) => ({ item: entry.item, deltaE }));
    },

    listPairs(deltaE, limit, accept = () => true) {
      const pairs: { a: (typeof entries)[number]; b: (typeof entries)[number]; deltaE: number }[] = [];
      for (const [at, a] of entries.entries()) {
        for (let next = at + 1; next < entries.length; next++) {
          const b = entries[next]!;
          if (b.lab[0] - a.lab[0] > deltaE * MOST_PER_DELTA_E) break;
          if (!accept(a.item, b.item)) continue;
          const apart = deltaE2000(a.lab, b.lab);
          if (apart > deltaE) continue;
          pairs.push(a.order < b.order ? { a, b, deltaE: apart } : { a: b, b: a, deltaE: apart });
        }
      }
      return pairs
        .sort((p, q) => p.deltaE - q.deltaE || p.a.order - q.a.order || p.b.order - q.b.order)
        .slice(0, limit)
        .map((pair) => ({ a: pair.a.item, b: pair.b.item, deltaE: pair.deltaE }));
    },
  };
}

/** Index of the first entry that is not darker. */
function findFirst(entries: readonly { readonly lab: Lab }[], lightness: number): number {
  let low = 0;
  let high = entries.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (entries[middle]!.lab[0] < lightness) low = middle + 1;
    else high = middle;
  }
  return low;
}
