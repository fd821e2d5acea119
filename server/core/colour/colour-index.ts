import { deltaE2000, type Lab } from './lab.ts';

export interface Near<T> {
  readonly item: T;
  /** CIEDE2000 to what was asked for. */
  readonly deltaE: number;
}

/** Colours in the order of their lightness, to find those near one another without comparing all with all. */
export interface ColourIndex<T> {
  /** The nearest by ΔE00, nearest first, of those accepted; equal distances in the order given. */
  listNearest(lab: Lab, limit: number, accept?: (item: T) => boolean): Near<T>[];
  /** Pairs no farther apart than `deltaE`, nearest first, of those accepted; at most `limit`. */
  listPairs(
    deltaE: number,
    limit: number,
    accept?: (a: T, b: T) => boolean,
  ): { readonly a: T; readonly b: T; readonly deltaE: number }[];
}

/**
 * CIEDE2000 is at least the difference in lightness over S_L, and S_L is 1 + 0.015 · 50² / √(20 + 50²) at most: colours
 * farther apart in lightness than a distance times this are farther apart altogether. (The chroma and hue terms add a
 * quadratic form that is never negative, since its rotation term lies between −2 and 2.)
 */
const MOST_PER_DELTA_E = 1 + (0.015 * 2500) / Math.sqrt(20 + 2500);

/** @param labOf CIE Lab of an item, all under one illuminant and observer */
export function makeColourIndex<T>(items: readonly T[], labOf: (item: T) => Lab): ColourIndex<T> {
  const entries = items
    .map((item, order) => ({ item, order, lab: labOf(item) }))
    .sort((a, b) => a.lab[0] - b.lab[0] || a.order - b.order);

  return {
    listNearest(lab, limit, accept = () => true) {
      const found: { entry: (typeof entries)[number]; deltaE: number }[] = [];
      let reach = Number.POSITIVE_INFINITY;
      const look = (at: number) => {
        const entry = entries[at]!;
        if (!accept(entry.item)) return;
        const deltaE = deltaE2000(lab, entry.lab);
        if (found.length === limit && deltaE > reach) return;
        found.push({ entry, deltaE });
        found.sort((a, b) => a.deltaE - b.deltaE || a.entry.order - b.entry.order);
        if (found.length > limit) found.pop();
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
      return found.map(({ entry, deltaE }) => ({ item: entry.item, deltaE }));
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

/** The first entry that is not darker. */
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
