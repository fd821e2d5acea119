/** Marks of points, one byte each. USED: a triangle that can be drawn uses the point. */
export const USED = 1;
/** A coordinate is not finite. Such a point has no other mark. */
export const NOT_FINITE = 2;
/** The point is welded to an earlier one. */
export const WELDED = 4;

/** Width of a cell in tolerances: wide enough that few points need their neighbour cells, narrow enough for short lists. */
const CELL_TOLERANCES = 16;
/** Distance in tolerances below which two points count as one, and only the first is entered. */
const SAME = 1 / 64;
/**
 * Most points of a cell; beyond this, only points without a neighbour are entered. A usual cell has one or two. A stray
 * vertex may make the tolerance larger than the model's triangles, and cells would grow without bound.
 */
const CROWD = 32;

/**
 * Joins points within a tolerance of each other, and so all points that are connected this way. The order of points does
 * not matter.
 *
 * Points are entered into a hashed grid. Each is compared with the earlier points of its cell and, if it is closer to a wall
 * than the tolerance, with those of the cells behind that wall. It is joined with all close points, and entered unless
 * there is a point at the same place.
 *
 * @param points x, y, z one after the other, finite where they are used
 * @param marks USED for points that count; other points are ignored
 * @param tolerance in the unit of the points
 */
export function weldPoints(
  points: Float32Array,
  marks: Uint8Array,
  from: number,
  to: number,
  tolerance: number,
  sets: DisjointSets,
): void {
  const count = to - from;
  if (count < 2 || !(tolerance > 0)) return;
  const cell = tolerance * CELL_TOLERANCES;
  const bits = Math.max(4, Math.ceil(Math.log2(count * 2)));
  const mask = 2 ** bits - 1;
  const heads = new Int32Array(mask + 1).fill(-1);
  const next = new Int32Array(count);
  const squared = tolerance * tolerance;
  const same = squared * SAME * SAME;
  const wall = tolerance / cell;
  for (let point = from; point < to; point++) {
    if ((marks[point]! & USED) === 0) continue;
    const x = points[point * 3]!;
    const y = points[point * 3 + 1]!;
    const z = points[point * 3 + 2]!;
    const gx = x / cell;
    const gy = y / cell;
    const gz = z / cell;
    const ix = Math.floor(gx);
    const iy = Math.floor(gy);
    const iz = Math.floor(gz);
    const x0 = gx - ix < wall ? -1 : 0;
    const x1 = gx - ix > 1 - wall ? 1 : 0;
    const y0 = gy - iy < wall ? -1 : 0;
    const y1 = gy - iy > 1 - wall ? 1 : 0;
    const z0 = gz - iz < wall ? -1 : 0;
    const z1 = gz - iz > 1 - wall ? 1 : 0;
    let nearest = Infinity;
    let compared = 0;
    for (let dx = x0; dx <= x1; dx++) {
      for (let dy = y0; dy <= y1; dy++) {
        for (let dz = z0; dz <= z1; dz++) {
          const at = hash(ix + dx, iy + dy, iz + dz) & mask;
          for (let other = heads[at]!; other >= 0; other = next[other - from]!) {
            compared++;
            const ox = points[other * 3]! - x;
            const oy = points[other * 3 + 1]! - y;
            const oz = points[other * 3 + 2]! - z;
            const off = ox * ox + oy * oy + oz * oz;
            if (off > squared) continue;
            sets.join(other, point);
            if (off < nearest) nearest = off;
          }
        }
      }
    }
    if (nearest <= same || (nearest <= squared && compared > CROWD)) continue;
    const at = hash(ix, iy, iz) & mask;
    next[point - from] = heads[at]!;
    heads[at] = point;
  }
}

function hash(x: number, y: number, z: number): number {
  let h = Math.imul(x, 0x9e3779b1) ^ Math.imul(y, 0x85ebca77) ^ Math.imul(z, 0xc2b2ae3d);
  h ^= h >>> 15;
  h = Math.imul(h, 0x2c1b3c6d);
  return h ^ (h >>> 13);
}

/** Sets of whole numbers that can be joined (union–find with path halving; the lowest number leads its set). */
export class DisjointSets {
  readonly #parents: Int32Array;

  constructor(count: number) {
    this.#parents = new Int32Array(count);
    for (let i = 0; i < count; i++) this.#parents[i] = i;
  }

  find(item: number): number {
    const parents = this.#parents;
    let at = item;
    for (;;) {
      const parent = parents[at]!;
      if (parent === at) return at;
      const above = parents[parent]!;
      parents[at] = above;
      at = above;
    }
  }

  join(a: number, b: number): void {
    // two members of one set mostly have the same parent
    if (this.#parents[a] === this.#parents[b]) return;
    const first = this.find(a);
    const second = this.find(b);
    if (first < second) this.#parents[second] = first;
    else if (second < first) this.#parents[first] = second;
  }

  /** The leader of every number. Do not change the list; it is valid until the next join. */
  listLeaders(): Int32Array {
    const parents = this.#parents;
    // a leader is lower than its members, so its own leader is already known
    for (let i = 0; i < parents.length; i++) parents[i] = parents[parents[i]!]!;
    return parents;
  }
}
