import { type Mesh, mergeMeshes } from './mesh.ts';
import type { ProfilePoint } from './profile.ts';
import { gridIndices, makeSheet } from './sheet.ts';

export interface LatheOptions {
  /** Quads around the axis. */
  readonly around: number;
  /**
   * How U follows a wall whose radius changes. 0 (default): the angle times the largest radius of the stretch, best
   * for short or nearly straight walls; a taper squeezes the pattern. 1: true on every ring, measured from the front,
   * with a slant that grows towards the seam at the back; best for long tapers such as legs. Between: some of each.
   */
  readonly unroll?: number;
  /** `false` unrolls level stretches like walls, so that a bellied form stays in one piece. */
  readonly lids?: boolean;
  /** On walls V, the grain, runs along the profile, or around the axis as in a bent or built-up ring. */
  readonly grain?: 'along' | 'around';
}

/** Above this |normal.y| a stretch of the profile is laid out flat from above: it is then more lid than wall. */
const LID_NORMAL = 0.72;

/**
 * Turns a profile about +Y. The UV seam lies at the back (−Z). Walls are unrolled and lids laid out flat, each true
 * to scale, cut where the profile turns from one to the other. `uv1` is (turn, length along the profile), 0–1.
 */
export function turnProfile(profile: readonly ProfilePoint[], options: LatheOptions): Mesh {
  const total = profile[profile.length - 1]!.s;
  const charts: { lid: boolean; from: number; to: number }[] = [];
  for (let i = 0; i < profile.length - 1; i++) {
    const lid = options.lids !== false && Math.abs(profile[i]!.ny + profile[i + 1]!.ny) / 2 > LID_NORMAL;
    const last = charts[charts.length - 1];
    if (last && last.lid === lid) last.to = i + 1;
    else charts.push({ lid, from: i, to: i + 1 });
  }
  return mergeMeshes(
    charts.map((chart) => turnChart(profile.slice(chart.from, chart.to + 1), chart.lid, total, options)),
  );
}

function turnChart(chart: readonly ProfilePoint[], lid: boolean, total: number, options: LatheOptions): Mesh {
  const { around, unroll = 0 } = options;
  const rows = chart.length - 1;
  const count = (around + 1) * chart.length;
  const positions = new Float32Array(count * 3);
  const normals = new Float32Array(count * 3);
  const uv0 = new Float32Array(count * 2);
  const uv1 = new Float32Array(count * 2);
  const reference = Math.max(...chart.map((point) => point.r));
  chart.forEach((point, j) => {
    for (let i = 0; i <= around; i++) {
      const angle = (i / around) * 2 * Math.PI;
      // Both ends of a ring are the same point to the last bit, so that the seam cannot open.
      const sin = i === around ? 0 : -Math.sin(angle);
      const cos = i === around ? -1 : -Math.cos(angle);
      const at = j * (around + 1) + i;
      positions.set([point.r * sin, point.y, point.r * cos], at * 3);
      normals.set([point.nr * sin, point.ny, point.nr * cos], at * 3);
      const radius = reference + (point.r - reference) * unroll;
      const up = point.ny < 0 ? -1 : 1;
      const turn = (angle - Math.PI) * radius;
      const wall = options.grain === 'around' ? [point.s, turn] : [turn, -point.s];
      uv0.set(lid ? [point.r * sin, up * point.r * cos] : wall, at * 2);
      uv1.set([i / around, point.s / total], at * 2);
    }
  });
  const indices = gridIndices(around, rows, chart[0]!.r === 0, chart[rows]!.r === 0);
  return { positions, normals, uv0, uv1, indices };
}

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
