import type { PieceParts } from '../../geometry/pieces/find-pieces.ts';
import type { PlacedScene } from '../../geometry/place-scene.ts';
import { findPrincipalAxis, type PrincipalAxis, type Symmetric } from '../geometry/principal-axis.ts';

/** What is measured of every piece, as columns, since there can be a hundred thousand. */
export interface PieceMeasures {
  /** m² of its triangles that have UVs, and of those UVs in units². */
  readonly mappedM2: Float64Array;
  readonly uvArea: Float64Array;
  /** The longer direction of a piece. */
  findAxis(piece: number): PrincipalAxis;
}

/**
 * Measures pieces over their triangles: area, area in UV, and the moments of their surface, exactly and not by sampling.
 * @param parts of `findPieces`, in the order of the scene's
 * @param uvs TEXCOORD_0 of each part; null where it has none
 * @param count how many pieces there are
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
