/** A board of samples: one plate for each finish, all of one shape, upright in rows. Lengths in metres. */
export const PLATE = { widthM: 0.1, depthM: 0.02, edgeM: 0.008, gapM: 0.02 } as const;

/** Steps of the rounded edge. */
const STEPS = 5;

/** Geometry of a plate with rounded edges, centred on the origin. Its UVs are metres, so finishes repeat at their true size. */
export interface Plate {
  readonly positions: Float32Array;
  readonly normals: Float32Array;
  readonly uvs: Float32Array;
  readonly indices: Uint16Array;
}

/** Axes of a face: outward, and those along which U and V run. */
const FACES = [
  { out: [0, 0, 1], u: [1, 0, 0], v: [0, -1, 0] },
  { out: [0, 0, -1], u: [-1, 0, 0], v: [0, -1, 0] },
  { out: [1, 0, 0], u: [0, 0, -1], v: [0, -1, 0] },
  { out: [-1, 0, 0], u: [0, 0, 1], v: [0, -1, 0] },
  { out: [0, 1, 0], u: [1, 0, 0], v: [0, 0, 1] },
  { out: [0, -1, 0], u: [1, 0, 0], v: [0, 0, -1] },
] as const;

/** Makes the plate as a box whose points move to a rounded box. Triangles are counter-clockwise seen from outside. */
export function makePlate(): Plate {
  const half = [PLATE.widthM / 2, PLATE.widthM / 2, PLATE.depthM / 2] as const;
  const positions: number[] = [];
  const normals: number[] = [];
  const uvs: number[] = [];
  const indices: number[] = [];
  for (const { out, u, v } of FACES) {
    const [alongU, alongV] = [listStops(lengthAlong(u, half)), listStops(lengthAlong(v, half))];
    const first = positions.length / 3;
    for (const b of alongV) {
      for (const a of alongU) {
        const point = [0, 1, 2].map((axis) => out[axis]! * half[axis]! + u[axis]! * a + v[axis]! * b);
        const inner = point.map((value, axis) => clamp(value, half[axis]! - PLATE.edgeM));
        const away = point.map((value, axis) => value - inner[axis]!);
        const length = Math.hypot(...away);
        for (const [axis, value] of away.entries()) {
          normals.push(value / length);
          positions.push(inner[axis]! + (value / length) * PLATE.edgeM);
        }
        uvs.push(a + lengthAlong(u, half), b + lengthAlong(v, half));
      }
    }
    for (let row = 0; row + 1 < alongV.length; row++) {
      for (let column = 0; column + 1 < alongU.length; column++) {
        const at = first + row * alongU.length + column;
        const below = at + alongU.length;
        indices.push(at, below, at + 1, at + 1, below, below + 1);
      }
    }
  }
  return {
    positions: new Float32Array(positions),
    normals: new Float32Array(normals),
    uvs: new Float32Array(uvs),
    indices: new Uint16Array(indices),
  };
}

/** Points along an edge: close ones where it is rounded. */
function listStops(half: number): number[] {
  const rounded = Array.from(
    { length: STEPS },
    (_, step) => half - PLATE.edgeM * (1 - Math.tan((Math.PI / 4) * (step / STEPS))),
  );
  const ends = [...rounded, half];
  return [...ends.map((stop) => -stop).reverse(), ...ends];
}

const lengthAlong = (axis: readonly number[], half: readonly number[]) =>
  Math.abs(axis.reduce((sum, value, at) => sum + value * half[at]!, 0));
const clamp = (value: number, most: number) => Math.max(-most, Math.min(most, value));
