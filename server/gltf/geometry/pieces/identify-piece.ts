import { hash } from 'node:crypto';

/** What a piece is known by; lengths in the scene's unit. */
export interface PieceFacts {
  readonly triangles: number;
  /** Welded vertices. */
  readonly vertices: number;
  readonly area: number;
  readonly min: ArrayLike<number>;
  readonly max: ArrayLike<number>;
  /** Middle of the surface, weighted by area. */
  readonly centre: ArrayLike<number>;
}

/** The scene's low corner and largest extent: by these places become shares that are the same in every unit. */
export interface Frame {
  readonly min: readonly number[];
  readonly extent: number;
}

/**
 * Steps by which places are told apart: half a thousandth of the whole, half a millimetre on a chair. Positions of single
 * precision that went through another unit or another node differ by a ten-millionth, and an id is lost where that
 * carries one of its nine places over the edge of a step: one or two pieces of two thousand, as measured, and eight with
 * steps five times finer. Those would tell nothing more: alike pieces nearer than a step are told apart by their order.
 */
const PLACE_STEPS = 2000;
/** Steps by which proportions are told apart, and areas in steps of half a percent. */
const SHAPE_STEPS = 200;
const AREA_STEPS = 200;
/** Models are drawn in round figures; a step begins where round figures do not fall (golden section). */
const OFFSET = 0.381966;

/** Names a piece by what it is and where it stands in the whole. */
export function identifyPiece(facts: PieceFacts, { min, extent }: Frame, ordinal: number): string {
  const { triangles, vertices, area } = facts;
  const parts = [triangles, vertices, stepArea(area / extent ** 2)];
  for (const place of [facts.min, facts.max, facts.centre]) {
    for (let axis = 0; axis < 3; axis++) parts.push(step(((place[axis]! - min[axis]!) / extent) * PLACE_STEPS));
  }
  return digest([...parts, ordinal]);
}

/** Names the form of a piece, the same wherever it stands, in whatever unit, turned by quarters. */
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

/** How far along a line that is in no plane models are drawn in, so that neighbours in any direction have an order. */
export function orderAlong(centre: ArrayLike<number>): number {
  return 0.531 * centre[0]! + 0.743 * centre[1]! + 0.409 * centre[2]!;
}

const step = (value: number) => Math.floor(value + OFFSET);
const stepArea = (area: number) => step(Math.log2(Math.max(area, 1e-30)) * AREA_STEPS);

function digest(facts: readonly number[]): string {
  return hash('sha256', facts.join(' '), 'hex').slice(0, 12);
}
