import { createHash } from 'node:crypto';

/** What a piece is known by; lengths in the scene's unit. */
export interface PieceFacts {
  readonly triangles: number;
  /** Welded vertices. */
  readonly vertices: number;
  readonly area: number;
  readonly min: readonly number[];
  readonly max: readonly number[];
  /** Middle of the surface, weighted by area. */
  readonly centre: readonly number[];
}

/** The scene's low corner and largest extent: by these places become shares that are the same in every unit. */
export interface Frame {
  readonly min: readonly number[];
  readonly extent: number;
}

/**
 * Steps by which places are told apart: a ten-thousandth of the whole, a tenth of a millimetre on a chair. Positions of
 * single precision that went through another unit or another node differ by a thousandth of that.
 */
const PLACE_STEPS = 10_000;
/** Steps by which proportions are told apart, and areas in steps of half a percent. */
const SHAPE_STEPS = 200;
const AREA_STEPS = 200;
/** Models are drawn in round figures; a step begins where round figures do not fall (golden section). */
const OFFSET = 0.381966;

/** Names a piece by what it is and where it stands in the whole. */
export function identifyPiece(facts: PieceFacts, { min, extent }: Frame, ordinal: number): string {
  const place = [...facts.min, ...facts.max, ...facts.centre].map((value, i) =>
    step(((value - min[i % 3]!) / extent) * PLACE_STEPS),
  );
  return digest([facts.triangles, facts.vertices, stepArea(facts.area / extent ** 2), ...place, ordinal]);
}

/** Names the form of a piece, the same wherever it stands, in whatever unit, turned by quarters. */
export function identifyShape({ triangles, vertices, area, min, max }: PieceFacts): string {
  const sides = max.map((value, axis) => value - min[axis]!).sort((a, b) => b - a);
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

const step = (value: number) => Math.floor(value + OFFSET);
const stepArea = (area: number) => step(Math.log2(Math.max(area, 1e-30)) * AREA_STEPS);

function digest(facts: readonly number[]): string {
  return createHash('sha256').update(facts.join(' ')).digest('hex').slice(0, 12);
}
