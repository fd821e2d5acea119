import type { PieceParts } from '../pieces/find-pieces.ts';
import type { PlacedScene } from '../place-scene.ts';

/** How many grid cells show each piece, and how many show its back, summed over the views. */
interface VisibleSides {
  readonly seen: Int32Array;
  readonly back: Int32Array;
}

/**
 * Samples of the whole surface, which bound the time for any number of triangles. Cells of the grid are so large that each
 * has `PER_PLACE` samples on average.
 */
const SAMPLES = 120_000;
const PER_PLACE = 5;
/** Most cells along the longest side. A finer grid shows no more of a product. */
const FINEST = 256;
/** Surfaces at a flatter angle do not count: they are visible by chance. */
const LEAST_COSINE = 0.5;
/** Surfaces at a flatter angle are not extrapolated to the centre of the cell: their plane is too steep. */
const FLAT_COSINE = 0.2;
/** Share of the extent by which fronts come before backs: two sheets in one place show their fronts. */
const BIAS = 2e-4;

const DIAGONAL = 1 / Math.sqrt(3);
/** Directions of view, each from both ends: the axes and the diagonals of a cube, which are evenly distributed. */
const DIRECTIONS: readonly Direction[] = [
  { along: [1, 0, 0], right: [0, 1, 0], up: [0, 0, 1] },
  { along: [0, 1, 0], right: [0, 0, 1], up: [1, 0, 0] },
  { along: [0, 0, 1], right: [1, 0, 0], up: [0, 1, 0] },
  ...[
    [1, 1],
    [1, -1],
    [-1, 1],
    [-1, -1],
  ].map(([x, z]) => diagonal(x! * DIAGONAL, DIAGONAL, z! * DIAGONAL)),
];

type Vector = readonly [number, number, number];
interface Direction {
  readonly along: Vector;
  readonly right: Vector;
  readonly up: Vector;
}

function diagonal(x: number, y: number, z: number): Direction {
  const length = Math.hypot(x, z);
  const right: Vector = [z / length, 0, -x / length];
  return {
    along: [x, y, z],
    right,
    up: [y * right[2] - z * right[1], z * right[0] - x * right[2], x * right[1] - y * right[0]],
  };
}

/** Points of the surface with the normals of their fronts, as columns: x, y, z, nx, ny, nz. */
interface Samples {
  readonly count: number;
  readonly columns: Float32Array;
  readonly pieces: Int32Array;
}

/**
 * Views a scene from fourteen directions, without perspective, and counts which side of each piece is visible.
 * @param area of the whole surface
 * @param facing by part: -1 under a mirror, which turns fronts round (glTF 2.0 §3.7.4)
 */
export function countVisibleSides(
  scene: PlacedScene,
  parts: readonly PieceParts[],
  facing: readonly number[],
  area: number,
  extent: number,
  count: number,
): VisibleSides {
  const seen = { seen: new Int32Array(count), back: new Int32Array(count) };
  if (!(area > 0 && extent > 0 && area < Infinity)) return seen;
  const place = Math.max(extent / FINEST, Math.sqrt((area * PER_PLACE) / SAMPLES));
  const samples = sampleSurface(scene, parts, facing, (place * place) / PER_PLACE);
  for (const direction of DIRECTIONS) lookAlong(samples, direction, place, extent * BIAS, seen);
  return seen;
}

/**
 * Takes samples in proportion to area. The remainder of a triangle carries over to the next one, so small triangles are
 * sampled too. Positions on a triangle follow the R2 sequence, which fills it evenly.
 */
function sampleSurface(
  { parts: placed, points }: PlacedScene,
  parts: readonly PieceParts[],
  facing: readonly number[],
  each: number,
): Samples {
  const room = SAMPLES + 1;
  const columns = new Float32Array(room * 6);
  const pieces = new Int32Array(room);
  let count = 0;
  let due = each / 2;
  placed.forEach(({ triangles, first }, index) => {
    const { pieceOfTriangle } = parts[index]!;
    const sign = facing[index]!;
    for (let t = 0, at = 0; t < pieceOfTriangle.length; t++, at += 3) {
      const piece = pieceOfTriangle[t]!;
      if (piece < 0) continue;
      const a = (first + triangles[at]!) * 3;
      const b = (first + triangles[at + 1]!) * 3;
      const c = (first + triangles[at + 2]!) * 3;
      const ux = points[b]! - points[a]!;
      const uy = points[b + 1]! - points[a + 1]!;
      const uz = points[b + 2]! - points[a + 2]!;
      const vx = points[c]! - points[a]!;
      const vy = points[c + 1]! - points[a + 1]!;
      const vz = points[c + 2]! - points[a + 2]!;
      const nx = uy * vz - uz * vy;
      const ny = uz * vx - ux * vz;
      const nz = ux * vy - uy * vx;
      const length = Math.sqrt(nx * nx + ny * ny + nz * nz);
      due += length / 2;
      if (due < each) continue;
      for (; due >= each && count < room; due -= each, count++) {
        let r = (count * 0.7548776662466927) % 1;
        let s = (count * 0.5698402909980532) % 1;
        if (r + s > 1) {
          r = 1 - r;
          s = 1 - s;
        }
        const to = count * 6;
        columns[to] = points[a]! + r * ux + s * vx;
        columns[to + 1] = points[a + 1]! + r * uy + s * vy;
        columns[to + 2] = points[a + 2]! + r * uz + s * vz;
        columns[to + 3] = (sign * nx) / length;
        columns[to + 4] = (sign * ny) / length;
        columns[to + 5] = (sign * nz) / length;
        pieces[count] = piece;
      }
    }
  });
  return { count, columns, pieces };
}

/** Finds the nearest and the farthest sample in each cell of the grid: two opposite views in one pass. */
function lookAlong(
  { count, columns, pieces }: Samples,
  { along, right, up }: Direction,
  place: number,
  bias: number,
  { seen, back }: VisibleSides,
): void {
  let [left, low] = [Infinity, Infinity];
  let [most, high] = [-Infinity, -Infinity];
  const flat = new Float32Array(count * 2);
  for (let i = 0, at = 0; i < count; i++, at += 6) {
    const x = columns[at]!;
    const y = columns[at + 1]!;
    const z = columns[at + 2]!;
    const h = x * right[0] + y * right[1] + z * right[2];
    const v = x * up[0] + y * up[1] + z * up[2];
    flat[i * 2] = h;
    flat[i * 2 + 1] = v;
    if (h < left) left = h;
    if (h > most) most = h;
    if (v < low) low = v;
    if (v > high) high = v;
  }
  const width = Math.floor((most - left) / place) + 1;
  const cells = width * (Math.floor((high - low) / place) + 1);
  const front = new Float32Array(cells).fill(Infinity);
  const rear = new Float32Array(cells).fill(-Infinity);
  const foremost = new Int32Array(cells).fill(-1);
  const hindmost = new Int32Array(cells).fill(-1);
  for (let i = 0, at = 0; i < count; i++, at += 6) {
    const nx = columns[at + 3]!;
    const ny = columns[at + 4]!;
    const nz = columns[at + 5]!;
    const facing = nx * along[0] + ny * along[1] + nz * along[2];
    const h = (flat[i * 2]! - left) / place;
    const v = (flat[i * 2 + 1]! - low) / place;
    const column = Math.floor(h);
    const row = Math.floor(v);
    const cell = row * width + column;
    let depth = columns[at]! * along[0] + columns[at + 1]! * along[1] + columns[at + 2]! * along[2];
    if (Math.abs(facing) > FLAT_COSINE) {
      // depth of its plane at the centre of the cell, so that close parallel sheets are distinguished
      const toRight = (column + 0.5 - h) * place;
      const toUp = (row + 0.5 - v) * place;
      depth -=
        (toRight * (nx * right[0] + ny * right[1] + nz * right[2]) + toUp * (nx * up[0] + ny * up[1] + nz * up[2])) /
        facing;
    }
    // from the low end, a front points along the negative direction
    const nearDepth = facing > 0 ? depth + bias : depth;
    if (nearDepth < front[cell]!) {
      front[cell] = nearDepth;
      foremost[cell] = i;
    }
    const farDepth = facing < 0 ? depth - bias : depth;
    if (farDepth > rear[cell]!) {
      rear[cell] = farDepth;
      hindmost[cell] = i;
    }
  }
  const note = (sample: number, sign: 1 | -1) => {
    if (sample < 0) return;
    const at = sample * 6;
    const facing = sign * (columns[at + 3]! * along[0] + columns[at + 4]! * along[1] + columns[at + 5]! * along[2]);
    if (Math.abs(facing) < LEAST_COSINE) return;
    const piece = pieces[sample]!;
    seen[piece]!++;
    if (facing < 0) back[piece]!++;
  };
  for (let cell = 0; cell < cells; cell++) {
    note(foremost[cell]!, -1);
    note(hindmost[cell]!, 1);
  }
}
