import { foldCode } from '../codes.ts';
import { type ColourIndex, makeColourIndex } from '../colour/colour-index.ts';
import type { Lab } from '../colour/lab.ts';
import type { Family, StoredFinish } from './finish.ts';
import type { ResolvedFinish } from './resolve-finish.ts';

/** What a finish is looked for by; all that is given must hold. */
export interface FinishQuery {
  /** Part of a code, a name in any language, a supplier, a reference or a note, whatever the case; each word must occur. */
  readonly text?: string;
  readonly family?: Family;
  readonly tag?: string;
  readonly article?: string;
  /** Sorts by ΔE00 to this colour (CIE Lab, D65, 2°), nearest first. */
  readonly near?: Lab;
  readonly limit?: number;
}

export interface FoundFinish {
  readonly finish: StoredFinish;
  /** Null where no colour was asked for. */
  readonly deltaE: number | null;
}

/** A library to search: finishes in their order, with what they come to. */
export interface SearchedLibrary {
  readonly finishes: readonly StoredFinish[];
  readonly resolve: (code: string) => ResolvedFinish;
}

/** Finishes that answer a query, in the library's order or by distance. */
export function findFinishes(library: SearchedLibrary, query: FinishQuery): FoundFinish[] {
  const accept = makeTest(query);
  if (!query.near) {
    const found = library.finishes.filter(accept).slice(0, query.limit);
    return found.map((finish) => ({ finish, deltaE: null }));
  }
  const found = indexOf(library).listNearest(query.near, query.limit ?? library.finishes.length, accept);
  return found.map(({ item, deltaE }) => ({ finish: item, deltaE }));
}

export interface AlikePair {
  readonly a: StoredFinish;
  readonly b: StoredFinish;
  readonly deltaE: number;
}

/** Roughness apart by less than this does not show beside a colour that is the same. */
const SAME_ROUGHNESS = 0.05;

/**
 * Pairs that nobody could tell apart: no farther apart than `deltaE`, of one family, article and maps, and alike in
 * roughness. A cloth and a lacquer of one colour are not alike. Nearest first.
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

/** By library: a new one is made when a finish changes, and when a map has been measured. */
const indices = new WeakMap<SearchedLibrary, ColourIndex<StoredFinish>>();

function indexOf(library: SearchedLibrary): ColourIndex<StoredFinish> {
  let index = indices.get(library);
  if (!index) {
    // a finish whose colour is the mean of a map that cannot be measured has no place among colours
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

/** Case and accents aside, so that “boucle” finds “Bouclé”. */
function fold(text: string): string {
  return text.normalize('NFKD').replace(/\p{M}/gu, '').toLowerCase();
}
