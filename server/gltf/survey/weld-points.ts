/** Cells are this many tolerances wide: wide enough that few points have to look next door, narrow enough for short chains. */
const CELL_TOLERANCES = 8;

/**
 * Joins points that are no farther apart than a tolerance.
 *
 * Points are entered into a grid by hash. Each is compared with the points entered before it in its own cell and, where it
 * is nearer to a wall than the tolerance, in the cells behind that wall, so that a wall between two points never keeps
 * them apart. It is joined with all that are near; only a point with none near is entered itself, so that cells stay
 * short however often a position occurs.
 *
 * @param points x, y, z one after the other; what is not finite is joined with nothing
 * @param tolerance in the unit of the points
 * @param join called with two points that are one
 */
export function weldPoints(
  points: Float32Array,
  from: number,
  to: number,
  tolerance: number,
  join: (a: number, b: number) => void,
): void {
  const count = to - from;
  if (count < 2 || !(tolerance > 0)) return;
  const cell = tolerance * CELL_TOLERANCES;
  const bits = Math.max(4, Math.ceil(Math.log2(count * 2)));
  const mask = 2 ** bits - 1;
  const heads = new Int32Array(mask + 1).fill(-1);
  const next = new Int32Array(count);
  const squared = tolerance * tolerance;
  const wall = tolerance / cell;
  for (let point = from; point < to; point++) {
    const x = points[point * 3]!;
    const y = points[point * 3 + 1]!;
    const z = points[point * 3 + 2]!;
    const gx = x / cell;
    const gy = y / cell;
    const gz = z / cell;
    const ix = Math.floor(gx);
    const iy = Math.floor(gy);
    const iz = Math.floor(gz);
    if (!Number.isFinite(ix + iy + iz)) continue;
    const x0 = gx - ix < wall ? -1 : 0;
    const x1 = gx - ix > 1 - wall ? 1 : 0;
    const y0 = gy - iy < wall ? -1 : 0;
    const y1 = gy - iy > 1 - wall ? 1 : 0;
    const z0 = gz - iz < wall ? -1 : 0;
    const z1 = gz - iz > 1 - wall ? 1 : 0;
    let near = false;
    for (let dx = x0; dx <= x1; dx++) {
      for (let dy = y0; dy <= y1; dy++) {
        for (let dz = z0; dz <= z1; dz++) {
          const at = hash(ix + dx, iy + dy, iz + dz) & mask;
          for (let other = heads[at]!; other >= 0; other = next[other - from]!) {
            const ox = points[other * 3]! - x;
            const oy = points[other * 3 + 1]! - y;
            const oz = points[other * 3 + 2]! - z;
            if (ox * ox + oy * oy + oz * oz > squared) continue;
            join(other, point);
            near = true;
          }
        }
      }
    }
    if (near) continue;
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
