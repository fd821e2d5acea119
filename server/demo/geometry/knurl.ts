import type { Mesh } from './mesh.ts';
import { makeSheet } from './sheet.ts';

export interface KnurlShape {
  readonly radiusM: number;
  readonly fromM: number;
  readonly toM: number;
  /** Diamonds around the collar. */
  readonly teeth: number;
  readonly depthM: number;
}

/** Quads across one diamond: fewer than five and its ridge is ragged. */
const QUADS_PER_TOOTH = 5;

/** A diamond-knurled band about the axis, running out flat at both edges so that it meets plain rims. */
export function makeKnurl({ radiusM, fromM, toM, teeth, depthM }: KnurlShape): Mesh {
  const columns = teeth * QUADS_PER_TOOTH;
  const pitch = (2 * Math.PI * radiusM) / teeth;
  const rows = Math.round(((toM - fromM) / pitch) * QUADS_PER_TOOTH);
  const ridge = (phase: number): number => Math.abs((((phase % 1) + 1) % 1) * 2 - 1);
  return makeSheet({
    columns,
    rows,
    closed: true,
    point: (i, j) => {
      const turn = (i % columns) / columns;
      const height = fromM + ((toM - fromM) * j) / rows;
      const edge = Math.min(1, Math.min(j, rows - j) / 3);
      const cut = Math.max(1 - ridge(turn * teeth + height / pitch), 1 - ridge(turn * teeth - height / pitch));
      const r = radiusM - depthM * edge * Math.max(0, cut * 1.15 - 0.15) - (1 - edge) * depthM * 0.5;
      return [-r * Math.sin(turn * 2 * Math.PI), height, -r * Math.cos(turn * 2 * Math.PI)];
    },
    uv0: (i, j) => [(i / columns) * 2 * Math.PI * radiusM, (-(toM - fromM) * j) / rows],
  });
}
