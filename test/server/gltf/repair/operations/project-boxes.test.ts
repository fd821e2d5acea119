import { describe, expect, it } from 'vitest';
import { projectBoxes } from '../../../../../server/gltf/repair/operations/project-boxes.ts';
import { makeCube } from '../../../../support/make-solid.ts';

/** The eight corners of a cube of side 1 and its twelve triangles, counter-clockwise from outside. */
const CORNERS = Float32Array.from([0, 0, 0, 1, 0, 0, 1, 1, 0, 0, 1, 0, 0, 0, 1, 1, 0, 1, 1, 1, 1, 0, 1, 1]);
const FACES = Uint32Array.from([
  4, 5, 6, 4, 6, 7, 1, 0, 3, 1, 3, 2, 5, 1, 2, 5, 2, 6, 0, 4, 7, 0, 7, 3, 7, 6, 2, 7, 2, 3, 0, 1, 5, 0, 5, 4,
]);

/** Doubled area in UV of a triangle; negative where v down makes counter-clockwise corners clockwise: not mirrored. */
function area(uvs: Float32Array, triangles: Uint32Array, t: number): number {
  const [a, b, c] = [0, 1, 2].map((k) => triangles[t * 3 + k]! * 2) as [number, number, number];
  return (uvs[b]! - uvs[a]!) * (uvs[c + 1]! - uvs[a + 1]!) - (uvs[c]! - uvs[a]!) * (uvs[b + 1]! - uvs[a + 1]!);
}

// glTF 2.0 §3.8.2: u to the right, v down. A face of one square metre covers one unit of UV, laid as it is seen from outside.
describe('a cube laid from six sides', () => {
  it('has four vertices a face where it had eight in all, and every face one unit wide and high', () => {
    const { gather, uvs, triangles } = projectBoxes(CORNERS, FACES, 1, 1);
    expect(gather).toHaveLength(24);
    expect(new Set(gather)).toEqual(new Set([0, 1, 2, 3, 4, 5, 6, 7]));
    for (let t = 0; t < 12; t++) expect(area(uvs, triangles, t)).toBeCloseTo(-1, 6);
    // the same corners as before, whatever their numbers
    expect([...triangles].map((vertex) => gather![vertex])).toEqual([...FACES]);
    for (let face = 0; face < 6; face++) {
      const own = [...triangles.subarray(face * 6, face * 6 + 6)];
      for (const axis of [0, 1]) {
        const values = own.map((vertex) => uvs[vertex * 2 + axis]!);
        expect(Math.max(...values) - Math.min(...values)).toBe(1);
      }
    }
  });

  it('needs no more vertices where its faces have their own, and counts units by the metres given', () => {
    const cube = makeCube(1);
    const { gather, uvs, triangles } = projectBoxes(cube.positions, cube.indices, 1, 0.25);
    expect(gather).toBeNull();
    expect(triangles).toBe(cube.indices);
    for (let t = 0; t < 12; t++) expect(Math.abs(area(uvs, triangles, t))).toBeCloseTo(16, 5);
  });

  it.each([
    ['front', [4, 5, 6, 7], [0, 1], 1],
    ['right', [5, 1, 2, 6], [2, 1], -1],
    ['top', [7, 6, 2, 3], [0, 2], 1],
  ] as const)('has the %s upright, as it is seen', (_, face, [across, up], sign) => {
    const { gather, uvs, triangles } = projectBoxes(CORNERS, FACES, 1, 1);
    const at = [...triangles].findIndex(
      (_, i) =>
        i % 6 === 0 && face.every((corner) => [...triangles.subarray(i, i + 6)].some((v) => gather![v] === corner)),
    );
    for (const vertex of triangles.subarray(at, at + 6)) {
      const corner = gather![vertex]!;
      expect(uvs[vertex * 2]).toBe(sign * CORNERS[corner * 3 + across]! + 0);
      // down in v; behind is up on the top
      expect(uvs[vertex * 2 + 1]).toBe(up === 2 ? CORNERS[corner * 3 + 2] : 0 - CORNERS[corner * 3 + up]!);
    }
  });

  it('turned inside out by a mirror faces the other sides, and is not mirrored as it is seen', () => {
    const mirrored = CORNERS.map((value, i) => (i % 3 === 0 ? -value : value));
    const { uvs, triangles } = projectBoxes(mirrored, FACES, -1, 1);
    // corners run clockwise from outside now
    for (let t = 0; t < 12; t++) expect(area(uvs, triangles, t)).toBeCloseTo(1, 6);
  });
});

describe('what is laid', () => {
  it('leaves no vertex out, used or not, and lays triangles without a surface somewhere', () => {
    const points = Float32Array.from([0, 0, 0, 1, 0, 0, 0, 1, 0, 5, 5, 5]);
    const { gather, uvs } = projectBoxes(points, Uint32Array.from([0, 1, 2, 1, 1, 2]), 1, 1);
    expect(gather).toBeNull();
    expect([...uvs]).toEqual([0, 0, 1, 0, 0, -1, 0, 0]);
  });

  it('is the same on both triangles of a chamfer of 45°, whatever rounding makes of it', () => {
    for (const slip of [-1e-6, 0, 1e-6]) {
      const points = Float32Array.from([0, 0, 1, 1, 0, 1, 1, 1, 0 + slip, 0, 1, 0]);
      expect(projectBoxes(points, Uint32Array.from([0, 1, 2, 0, 2, 3]), 1, 1).gather).toBeNull();
    }
  });

  it('leans drawn out by the cosine: 45° by the root of two', () => {
    const points = Float32Array.from([0, 0, 0, 1, 0, 0, 0, 0.8, -0.8]);
    const triangles = Uint32Array.from([0, 1, 2]);
    const { uvs } = projectBoxes(points, triangles, 1, 1);
    const surface = Math.hypot(0.8, 0.8) / 2;
    expect(surface / (Math.abs(area(uvs, triangles, 0)) / 2)).toBeCloseTo(Math.SQRT2, 6);
  });
});
