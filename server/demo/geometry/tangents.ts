import type { Mesh } from './mesh.ts';

/**
 * Tangents along U of `uv1`, for parts with a normal map of their own. Such parts run `uv0` the same way, so that
 * the tangents also hold for a finish's map. W is +1 where the map is not mirrored (V runs down the image).
 */
export function makeTangents({ positions: p, normals, uv1, indices }: Mesh): Float32Array {
  const count = p.length / 3;
  const alongU = new Float64Array(count * 3);
  const alongV = new Float64Array(count * 3);
  for (let t = 0; t < indices.length; t += 3) {
    const [a, b, c] = [indices[t]!, indices[t + 1]!, indices[t + 2]!];
    const u1 = uv1[b * 2]! - uv1[a * 2]!;
    const v1 = uv1[b * 2 + 1]! - uv1[a * 2 + 1]!;
    const u2 = uv1[c * 2]! - uv1[a * 2]!;
    const v2 = uv1[c * 2 + 1]! - uv1[a * 2 + 1]!;
    const determinant = u1 * v2 - u2 * v1;
    if (Math.abs(determinant) < 1e-14) continue;
    for (let k = 0; k < 3; k++) {
      const e1 = p[b * 3 + k]! - p[a * 3 + k]!;
      const e2 = p[c * 3 + k]! - p[a * 3 + k]!;
      const du = (e1 * v2 - e2 * v1) / determinant;
      const dv = (e2 * u1 - e1 * u2) / determinant;
      for (const at of [a, b, c]) {
        alongU[at * 3 + k] = alongU[at * 3 + k]! + du;
        alongV[at * 3 + k] = alongV[at * 3 + k]! + dv;
      }
    }
  }
  const tangents = new Float32Array(count * 4);
  for (let i = 0; i < count; i++) {
    const [nx, ny, nz] = [normals[i * 3]!, normals[i * 3 + 1]!, normals[i * 3 + 2]!];
    const along = nx * alongU[i * 3]! + ny * alongU[i * 3 + 1]! + nz * alongU[i * 3 + 2]!;
    let x = alongU[i * 3]! - nx * along;
    let y = alongU[i * 3 + 1]! - ny * along;
    let z = alongU[i * 3 + 2]! - nz * along;
    let length = Math.hypot(x, y, z);
    if (length < 1e-9) {
      // A place without a map direction, as on the button: any direction in the surface will do.
      [x, y, z] = Math.abs(ny) < 0.9 ? [nz, 0, -nx] : [0, -nz, ny];
      length = Math.hypot(x, y, z);
    }
    [x, y, z] = [x / length, y / length, z / length];
    const up =
      (ny * z - nz * y) * alongV[i * 3]! +
      (nz * x - nx * z) * alongV[i * 3 + 1]! +
      (nx * y - ny * x) * alongV[i * 3 + 2]!;
    tangents.set([x, y, z, up > 0 ? -1 : 1], i * 4);
  }
  return tangents;
}
