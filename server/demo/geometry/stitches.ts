import type { Mesh, Vector } from './mesh.ts';
import { mergeMeshes } from './mesh.ts';
import { makeTube } from './tube.ts';

export interface StitchRow {
  readonly radiusM: number;
  readonly yM: number;
  /** Direction away from the surface in the half-plane of radius and height, of length 1. */
  readonly out: readonly [radial: number, up: number];
  readonly count: number;
  /** Thread in metres: its radius, and the share of the pitch that shows. */
  readonly threadM: number;
  readonly share: number;
  /** Where on the material's own maps a thread lies: `t` runs round it. */
  readonly uv1: (turn: number, lengthM: number) => readonly [number, number];
}

/** A ring of sewn stitches, each a short thread that dips into the cloth at both ends. */
export function makeStitches({ radiusM, yM, out, count, threadM, share, uv1 }: StitchRow): Mesh {
  const stitches: Mesh[] = [];
  for (let k = 0; k < count; k++) {
    const path: Vector[] = [-1, -0.45, 0.45, 1].map((t) => {
      const angle = (2 * Math.PI * (k + 0.5 + (t * share) / 2)) / count;
      const lift = threadM * (Math.abs(t) === 1 ? -0.55 : 0.5);
      const r = radiusM + out[0] * lift;
      return [-r * Math.sin(angle), yM + out[1] * lift, -r * Math.cos(angle)];
    });
    stitches.push(makeTube(path, { radiusM: threadM, around: 6, uv1 }));
  }
  return mergeMeshes(stitches);
}
