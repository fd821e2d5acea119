import type { PieceParts } from '../../geometry/pieces/find-pieces.ts';
import type { PlacedScene } from '../../geometry/place-scene.ts';

/** Measures of all pieces, as columns, since there can be a hundred thousand. */
export interface PieceMeasures {
  /** Area in m² of the triangles that have UVs, and the area of those UVs in units². */
  readonly mappedM2: Float64Array;
  readonly uvArea: Float64Array;
  /** The longest direction of a piece. */
  findAxis(piece: number): PrincipalAxis;
}

/**
 * Measures pieces over all of their triangles: area, UV area, and the moments of their surface.
 * @param parts of `findPieces`, in the order of the scene's parts
 * @param uvs TEXCOORD_0 of each part; null where it has none
 * @param count number of pieces
 */
export function measurePieces(
  { parts: placed, points }: PlacedScene,
  parts: readonly PieceParts[],
  uvs: readonly (Float32Array | null)[],
  count: number,
): PieceMeasures {
  const area = new Float64Array(count);
  const mappedM2 = new Float64Array(count);
  const uvArea = new Float64Array(count);
  /** Integrals over the surface: of x, y, z; then of xx, xy, xz, yy, yz, zz. */
  const first = new Float64Array(count * 3);
  const second = new Float64Array(count * 6);
  placed.forEach(({ triangles, first: base }, index) => {
    const { pieceOfTriangle } = parts[index]!;
    const own = uvs[index];
    for (let t = 0, at = 0; t < pieceOfTriangle.length; t++, at += 3) {
      const piece = pieceOfTriangle[t]!;
      if (piece < 0) continue;
      const a = triangles[at]!;
      const b = triangles[at + 1]!;
      const c = triangles[at + 2]!;
      const pa = (base + a) * 3;
      const pb = (base + b) * 3;
      const pc = (base + c) * 3;
      const ax = points[pa]!;
      const ay = points[pa + 1]!;
      const az = points[pa + 2]!;
      const bx = points[pb]!;
      const by = points[pb + 1]!;
      const bz = points[pb + 2]!;
      const cx = points[pc]!;
      const cy = points[pc + 1]!;
      const cz = points[pc + 2]!;
      const nx = (by - ay) * (cz - az) - (bz - az) * (cy - ay);
      const ny = (bz - az) * (cx - ax) - (bx - ax) * (cz - az);
      const nz = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax);
      const size = Math.sqrt(nx * nx + ny * ny + nz * nz) / 2;
      if (!(size > 0 && size < Infinity)) continue;
      const sx = ax + bx + cx;
      const sy = ay + by + cy;
      const sz = az + bz + cz;
      area[piece]! += size;
      const f = piece * 3;
      first[f]! += (size * sx) / 3;
      first[f + 1]! += (size * sy) / 3;
      first[f + 2]! += (size * sz) / 3;
      // ∫ x y over a triangle is its area / 12 × (sum of x × sum of y + sum of x y), over its corners
      const w = size / 12;
      const s = piece * 6;
      second[s]! += w * (sx * sx + ax * ax + bx * bx + cx * cx);
      second[s + 1]! += w * (sx * sy + ax * ay + bx * by + cx * cy);
      second[s + 2]! += w * (sx * sz + ax * az + bx * bz + cx * cz);
      second[s + 3]! += w * (sy * sy + ay * ay + by * by + cy * cy);
      second[s + 4]! += w * (sy * sz + ay * az + by * bz + cy * cz);
      second[s + 5]! += w * (sz * sz + az * az + bz * bz + cz * cz);
      if (!own || a * 2 >= own.length || b * 2 >= own.length || c * 2 >= own.length) continue;
      const u0 = own[a * 2]!;
      const v0 = own[a * 2 + 1]!;
      const flat = Math.abs((own[b * 2]! - u0) * (own[c * 2 + 1]! - v0) - (own[c * 2]! - u0) * (own[b * 2 + 1]! - v0));
      if (!(flat < Infinity)) continue;
      mappedM2[piece]! += size;
      uvArea[piece]! += flat / 2;
    }
  });
  return {
    mappedM2,
    uvArea,
    findAxis(piece) {
      const whole = area[piece]!;
      const [mx, my, mz] = [0, 1, 2].map((axis) => first[piece * 3 + axis]! / whole) as [number, number, number];
      const products = [mx * mx, mx * my, mx * mz, my * my, my * mz, mz * mz];
      return findPrincipalAxis(
        products.map((product, k) => second[piece * 6 + k]! / whole - product) as unknown as Symmetric,
      );
    },
  };
}

/** The longest direction of a body, and how much longer it is than the next. */
interface PrincipalAxis {
  /** Of unit length; its sign has no meaning. */
  readonly axis: readonly [number, number, number];
  /**
   * Spread along this axis divided by the spread along the next, 1 or more. A flat panel with sides a and b has exactly a/b; a
   * rod of length a and diameter b has √(2/3) of a/b.
   */
  readonly elongation: number;
}

/** A symmetric matrix by rows: xx, xy, xz, yy, yz, zz. */
export type Symmetric = readonly [number, number, number, number, number, number];

/** Sweeps of Jacobi's method; five or six make a 3 × 3 matrix diagonal to the last digit. */
const SWEEPS = 12;
/** Elongation of a body without breadth, such as a line of points. */
const LONGEST = 1e6;

/**
 * The principal axis of a distribution, from its covariance, by Jacobi's method for the eigenvalues of a symmetric matrix.
 * The tests use bodies whose axes and spreads are known in closed form.
 */
export function findPrincipalAxis([xx, xy, xz, yy, yz, zz]: Symmetric): PrincipalAxis {
  const m = [
    [xx, xy, xz],
    [xy, yy, yz],
    [xz, yz, zz],
  ];
  const axes = [
    [1, 0, 0],
    [0, 1, 0],
    [0, 0, 1],
  ];
  for (let sweep = 0; sweep < SWEEPS; sweep++) {
    rotate(m, axes, 0, 1);
    rotate(m, axes, 0, 2);
    rotate(m, axes, 1, 2);
  }
  const [first, second] = [0, 1, 2].sort((a, b) => m[b]![b]! - m[a]![a]!) as [number, number, number];
  const [long, next] = [Math.max(0, m[first]![first]!), Math.max(0, m[second]![second]!)];
  const elongation = next > 0 ? Math.min(LONGEST, Math.sqrt(long / next)) : long > 0 ? LONGEST : 1;
  return { axis: [axes[0]![first]!, axes[1]![first]!, axes[2]![first]!], elongation };
}

/** Rotates in the plane of two axes, so that their mixed term becomes 0. */
function rotate(m: number[][], axes: number[][], p: number, q: number): void {
  const mixed = m[p]![q]!;
  if (mixed === 0) return;
  const theta = (m[q]![q]! - m[p]![p]!) / (2 * mixed);
  const t = Math.sign(theta || 1) / (Math.abs(theta) + Math.sqrt(theta * theta + 1));
  const c = 1 / Math.sqrt(t * t + 1);
  const s = t * c;
  for (let k = 0; k < 3; k++) {
    const [kp, kq] = [m[k]![p]!, m[k]![q]!];
    m[k]![p] = c * kp - s * kq;
    m[k]![q] = s * kp + c * kq;
  }
  for (let k = 0; k < 3; k++) {
    const [pk, qk] = [m[p]![k]!, m[q]![k]!];
    m[p]![k] = c * pk - s * qk;
    m[q]![k] = s * pk + c * qk;
    const [ap, aq] = [axes[k]![p]!, axes[k]![q]!];
    axes[k]![p] = c * ap - s * aq;
    axes[k]![q] = s * ap + c * aq;
  }
}
