import { foldCode } from '../codes.ts';
import { deltaE2000, type Lab } from '../colour/lab.ts';
import type { Family, StoredFinish } from './finish.ts';
import type { ResolvedFinish } from './resolve-finish.ts';

/** Search terms for finishes. All given terms must match. */
interface FinishQuery {
  /** Part of a code, a name in any language, a supplier, a reference or a note, ignoring case; each word must occur. */
  readonly text?: string;
  readonly family?: Family;
  readonly tag?: string;
  readonly article?: string;
  /** Sorts by ΔE00 to this colour (CIE Lab, D65, 2°), nearest first. */
  readonly near?: Lab;
  readonly limit?: number;
}

interface FoundFinish {
  readonly finish: StoredFinish;
  /** Null without a search colour. */
  readonly deltaE: number | null;
}

/** A library to search: finishes in their order, with their resolved values. */
interface SearchedLibrary {
  readonly finishes: readonly StoredFinish[];
  readonly resolve: (code: string) => ResolvedFinish;
}

/** Finishes that match a query, in the library's order or by distance. */
export function findFinishes(library: SearchedLibrary, query: FinishQuery): FoundFinish[] {
  const accept = makeTest(query);
  if (!query.near) {
    const found = library.finishes.filter(accept).slice(0, query.limit);
    return found.map((finish) => ({ finish, deltaE: null }));
  }
  const found = indexOf(library).listNearest(query.near, query.limit ?? library.finishes.length, accept);
  return found.map(({ item, deltaE }) => ({ finish: item, deltaE }));
}

interface AlikePair {
  readonly a: StoredFinish;
  readonly b: StoredFinish;
  readonly deltaE: number;
}

/** On surfaces of equal colour, a smaller difference in roughness is invisible. */
const SAME_ROUGHNESS = 0.05;

/**
 * Near-identical pairs: no farther apart than `deltaE`, of one family, article and maps, and similar in roughness. A
 * cloth and a lacquer of one colour are not near-identical. Nearest first.
 */
export function listIndistinguishable(library: SearchedLibrary, deltaE: number, limit: number): AlikePair[] {
  const alike = (a: StoredFinish, b: StoredFinish) => {
    if (a.family !== b.family || foldCode(a.article ?? '') !== foldCode(b.article ?? '')) return false;
    const [one, other] = [library.resolve(a.finish), library.resolve(b.finish)];
    return (
      Math.abs(one.roughness - other.roughness) < SAME_ROUGHNESS &&
      one.maps.colour === other.maps.colour &&
      one.maps.normal === other.maps.normal
    );
  };
  return indexOf(library).listPairs(deltaE, limit, alike);
}

/** By library, since a changed finish or a newly measured map makes a new library. */
const indices = new WeakMap<SearchedLibrary, ColourIndex<StoredFinish>>();

function indexOf(library: SearchedLibrary): ColourIndex<StoredFinish> {
  let index = indices.get(library);
  if (!index) {
    // A finish whose colour comes from an unmeasurable map has no colour to compare.
    const coloured = library.finishes.filter(({ finish, colour }) => colour || library.resolve(finish).delivered);
    index = makeColourIndex(coloured, ({ finish }) => library.resolve(finish).colourLab);
    indices.set(library, index);
  }
  return index;
}

function makeTest({ text, family, tag, article }: FinishQuery): (finish: StoredFinish) => boolean {
  const words = fold(text ?? '')
    .split(/\s+/)
    .filter(Boolean);
  return (finish) =>
    (family === undefined || finish.family === family) &&
    (tag === undefined || (finish.tags?.includes(tag) ?? false)) &&
    (article === undefined || foldCode(finish.article ?? '') === foldCode(article)) &&
    (words.length === 0 || words.every((word) => textOf(finish).includes(word)));
}

function textOf(finish: StoredFinish): string {
  const { reference } = finish;
  const all = [finish.finish, finish.name, ...Object.values(finish.names ?? {}), finish.supplier, finish.note];
  return fold([...all, reference?.system, reference?.code].filter(Boolean).join('\n'));
}

/** Ignores case and accents, so that “boucle” finds “Bouclé”. */
function fold(text: string): string {
  return text.normalize('NFKD').replace(/\p{M}/gu, '').toLowerCase();
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
