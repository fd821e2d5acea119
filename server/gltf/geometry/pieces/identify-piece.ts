import { hash } from 'node:crypto';

/** The measures that identify a piece; lengths in the scene's unit. */
export interface PieceFacts {
  readonly triangles: number;
  /** Vertices after welding. */
  readonly vertices: number;
  readonly area: number;
  readonly min: ArrayLike<number>;
  readonly max: ArrayLike<number>;
  /** Centre of the surface, weighted by area. */
  readonly centre: ArrayLike<number>;
}

/** The scene's lowest corner and largest extent. Relative to these, positions are the same in every unit. */
export interface Frame {
  readonly min: readonly number[];
  readonly extent: number;
}

/**
 * Steps of positions: half a thousandth of the whole, half a millimetre on a chair. Single-precision positions differ by a
 * ten-millionth after a change of unit or node. An id changes if one of its nine coordinates then crosses a step: one or two
 * pieces of two thousand in a measurement, and eight with steps five times finer. Finer steps would distinguish no more
 * pieces: equal pieces within a step are distinguished by their order.
 */
const PLACE_STEPS = 2000;
/** Steps of proportions, and of areas: half a percent. */
const SHAPE_STEPS = 200;
const AREA_STEPS = 200;
/** Models have round numbers, so steps begin between those (golden section). */
const OFFSET = 0.381966;

/** Ids of all pieces. Equal pieces in one place, such as two sheets on each other, are distinguished by their order. */
export function identifyPieces(facts: readonly PieceFacts[], frame: Frame): string[] {
  const ids = facts.map((one) => identifyPiece(one, frame, 0));
  const alike = new Map<string, number[]>();
  for (const [index, id] of ids.entries()) {
    const group = alike.get(id);
    if (group) group.push(index);
    else alike.set(id, [index]);
  }
  for (const group of alike.values()) {
    if (group.length === 1) continue;
    group.sort((a, b) => orderAlong(facts[a]!.centre) - orderAlong(facts[b]!.centre) || a - b);
    for (const [ordinal, index] of group.entries()) ids[index] = identifyPiece(facts[index]!, frame, ordinal);
  }
  return ids;
}

/** Identifies a piece by its form and its position in the whole. @param ordinal its number among pieces that are equal in both */
function identifyPiece(facts: PieceFacts, { min, extent }: Frame, ordinal: number): string {
  const { triangles, vertices, area } = facts;
  const parts = [triangles, vertices, stepArea(area / extent ** 2)];
  for (const place of [facts.min, facts.max, facts.centre]) {
    for (let axis = 0; axis < 3; axis++) parts.push(step(((place[axis]! - min[axis]!) / extent) * PLACE_STEPS));
  }
  return digest([...parts, ordinal]);
}

/** Identifies the form of a piece: the same in any place and unit, and after quarter turns. */
export function identifyShape({ triangles, vertices, area, min, max }: PieceFacts): string {
  const sides = [0, 1, 2].map((axis) => max[axis]! - min[axis]!).sort((a, b) => b - a);
  const longest = sides[0] || 1;
  const diagonal = Math.hypot(...sides) || 1;
  return digest([
    triangles,
    vertices,
    stepArea(area / diagonal ** 2),
    step((sides[1]! / longest) * SHAPE_STEPS),
    step((sides[2]! / longest) * SHAPE_STEPS),
  ]);
}

/** Position along a line that is in no common plane of models, so that neighbours in any direction have an order. */
function orderAlong(centre: ArrayLike<number>): number {
  return 0.531 * centre[0]! + 0.743 * centre[1]! + 0.409 * centre[2]!;
}

const step = (value: number) => Math.floor(value + OFFSET);
const stepArea = (area: number) => step(Math.log2(Math.max(area, 1e-30)) * AREA_STEPS);

function digest(facts: readonly number[]): string {
  return hash('sha256', facts.join(' '), 'hex').slice(0, 12);
}
