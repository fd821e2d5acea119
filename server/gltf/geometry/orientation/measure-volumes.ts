import type { FoundPieces } from '../pieces/find-pieces.ts';
import type { PlacedScene } from '../place-scene.ts';

/** The volume of each piece and whether it is closed, as columns. */
export interface Volumes {
  /**
   * Whether every edge is run through as often one way as the other: then the surface has no rim, its corners all run the
   * same way round, and the volume is true wherever it is counted from.
   */
  readonly closed: Uint8Array;
  /**
   * Signed volume, from the middle of each piece: the sum over triangles of a · (b × c) / 6, by the divergence theorem
   * (C. Zhang and T. Chen, Efficient feature extraction for 2D/3D objects in mesh representation, ICIP 2001). Negative
   * where fronts face inward. Of a piece with a rim, that of the cone over it.
   */
  readonly volume: Float64Array;
}

/**
 * Measures whether pieces are closed, and the volume they enclose.
 *
 * Edges are not collected: each adds a number made of its two points, positive in one direction and negative in the other.
 * A sum of 0 means a closed piece, apart from a chance of one in thousands of millions.
 * @param facing by part: -1 under a mirror, which turns fronts round (glTF 2.0 §3.7.4)
 */
export function measureVolumes(
  { parts: placed, points, origin }: PlacedScene,
  { parts, pieces, welds }: Pick<FoundPieces, 'parts' | 'pieces' | 'welds'>,
  facing: readonly number[],
): Volumes {
  const count = pieces.length;
  const centre = new Float64Array(count * 3);
  pieces.forEach(({ box }, piece) => {
    for (let axis = 0; axis < 3; axis++) {
      centre[piece * 3 + axis] = (box.min[axis]! + box.max[axis]!) / 2 - origin[axis]!;
    }
  });
  const volume = new Float64Array(count);
  const rim = new Float64Array(count);
  placed.forEach(({ triangles, first }, index) => {
    const { pieceOfTriangle } = parts[index]!;
    const sign = facing[index]!;
    for (let t = 0, at = 0; t < pieceOfTriangle.length; t++, at += 3) {
      const piece = pieceOfTriangle[t]!;
      if (piece < 0) continue;
      const a = first + triangles[at]!;
      const b = first + triangles[at + 1]!;
      const c = first + triangles[at + 2]!;
      const from = piece * 3;
      const ox = centre[from]!;
      const oy = centre[from + 1]!;
      const oz = centre[from + 2]!;
      const ax = points[a * 3]! - ox;
      const ay = points[a * 3 + 1]! - oy;
      const az = points[a * 3 + 2]! - oz;
      const ux = points[b * 3]! - ox - ax;
      const uy = points[b * 3 + 1]! - oy - ay;
      const uz = points[b * 3 + 2]! - oz - az;
      const vx = points[c * 3]! - ox - ax;
      const vy = points[c * 3 + 1]! - oy - ay;
      const vz = points[c * 3 + 2]! - oz - az;
      const nx = uy * vz - uz * vy;
      const ny = uz * vx - ux * vz;
      const nz = ux * vy - uy * vx;
      volume[piece]! += (sign * (ax * nx + ay * ny + az * nz)) / 6;
      const wa = welds[a]!;
      const wb = welds[b]!;
      const wc = welds[c]!;
      rim[piece]! += sign * (edge(wa, wb) + edge(wb, wc) + edge(wc, wa));
    }
  });
  return { closed: Uint8Array.from(rim, (sum) => (sum === 0 ? 1 : 0)), volume };
}

/** A whole number below 2^31 that belongs to two points, with the sign of the direction; sums of 2^22 of them stay exact. */
function edge(a: number, b: number): number {
  if (a === b) return 0;
  return a < b ? mix(a, b) : -mix(b, a);
}

function mix(low: number, high: number): number {
  let h = Math.imul(low, 0x9e3779b1) ^ Math.imul(high, 0x85ebca77);
  h = Math.imul(h ^ (h >>> 15), 0x2c1b3c6d);
  return (h ^ (h >>> 13)) & 0x7fffffff;
}
