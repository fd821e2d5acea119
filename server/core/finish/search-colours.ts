import type { Lab } from '../colour/lab.ts';
import type { ColourTable, FoundColours } from '../ports/planner.ts';
import { makeColourIndex } from './find-finishes.ts';

/** On surfaces of equal colour, a smaller difference in roughness is invisible. */
const SAME_ROUGHNESS = 0.05;

/** The nearest colours of a table by ΔE00, nearest first. */
export function listNearest(table: ColourTable, lab: readonly number[], limit: number): FoundColours {
  const found = indexOf(table).listNearest(lab as unknown as Lab, limit);
  return {
    indices: Uint32Array.from(found, ({ item }) => item),
    deltaE: Float64Array.from(found, ({ deltaE }) => deltaE),
  };
}

/**
 * Near-identical pairs of a table: no farther apart than `deltaE`, of one group, and similar in roughness. Nearest first.
 * @returns two indices for each pair
 */
export function listAlike(table: ColourTable, deltaE: number, limit: number): FoundColours {
  const { groups, roughness } = table;
  const alike = (a: number, b: number) =>
    groups[a] === groups[b] && Math.abs(roughness[a]! - roughness[b]!) < SAME_ROUGHNESS;
  const pairs = indexOf(table).listPairs(deltaE, limit, alike);
  return {
    indices: Uint32Array.from(pairs.flatMap(({ a, b }) => [a, b])),
    deltaE: Float64Array.from(pairs, (pair) => pair.deltaE),
  };
}

function indexOf({ labs }: ColourTable) {
  const items = Array.from({ length: labs.length / 3 }, (_, index) => index);
  return makeColourIndex(items, (index) => [labs[index * 3]!, labs[index * 3 + 1]!, labs[index * 3 + 2]!]);
}
