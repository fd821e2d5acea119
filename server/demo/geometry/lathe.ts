import { gridIndices, type Mesh, makeSheet, mergeMeshes } from './mesh.ts';

interface LatheOptions {
  /** Quads around the axis. */
  readonly around: number;
  /**
   * How U follows a wall whose radius changes. 0 (default): the angle times the largest radius of the stretch. This is
   * best for short or nearly straight walls; a taper squeezes the pattern. 1: true on every ring, measured from the
   * front, with a slant that grows towards the seam at the back. This is best for long tapers such as legs. Values
   * between mix the two.
   */
  readonly unroll?: number;
  /** `false` unrolls horizontal stretches like walls, so a bulging form stays in one piece. */
  readonly lids?: boolean;
  /** On walls, V (the grain) runs along the profile, or around the axis as in a bent or laminated ring. */
  readonly grain?: 'along' | 'around';
}

/** Above this |normal.y| a stretch of the profile is a lid, not a wall: its UVs are flat from above. */
const LID_NORMAL = 0.72;

/**
 * Turns a profile around +Y. The UV seam is at the back (−Z). Walls are unrolled and lids are flat, both true to scale;
 * the UVs are cut where the profile changes from one to the other. `uv1` is (turn, length along the profile), 0–1.
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
      // both ends of a ring are exactly the same point, so the seam cannot open
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

interface KnurlShape {
  readonly radiusM: number;
  readonly fromM: number;
  readonly toM: number;
  /** Diamonds around the collar. */
  readonly teeth: number;
  readonly depthM: number;
}

/** Quads across one diamond: with fewer than five its ridge is ragged. */
const QUADS_PER_TOOTH = 5;

/** A diamond-knurled band around the axis. It flattens out at both edges, so that it meets plain rims. */
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

/** A corner of a profile, in mm: radius from the axis, height, and the radius of its rounding. */
export type Corner = readonly [radiusMm: number, heightMm: number, filletMm?: number];

/** A point on a rounded profile, in metres, with its outward normal and the length of the profile up to it. */
export interface ProfilePoint {
  readonly r: number;
  readonly y: number;
  readonly nr: number;
  readonly ny: number;
  readonly s: number;
}

/**
 * Degrees of turn for each segment of a rounding: 90° has six segments, which keeps a highlight smooth even at full
 * frame. Edges with a rounding below `SMALL_MM` are a pixel or two wide in any picture and have four.
 */
const DEGREES_PER_SEGMENT = { full: 15, small: 22.5 } as const;
const SMALL_MM = 2.2;

/**
 * Rounds a polyline of corners into a smooth profile. The profile runs from the lower end outwards and up, so that its
 * outward side is on the right. Corners without a rounding get the mean normal of their neighbours, as a curve of many
 * points needs.
 */
export function roundProfile(corners: readonly Corner[]): ProfilePoint[] {
  const points: { r: number; y: number; nr: number; ny: number }[] = [];
  for (let i = 0; i < corners.length; i++) {
    const [r, y, fillet = 0] = corners[i]!;
    const before = i > 0 ? direction(corners[i - 1]!, corners[i]!) : undefined;
    const after = i < corners.length - 1 ? direction(corners[i]!, corners[i + 1]!) : undefined;
    if (!before || !after) {
      const [dr, dy] = (before ?? after)!;
      // On the axis a surface of revolution is horizontal, whatever the last segment does.
      points.push(r === 0 ? { r, y, nr: 0, ny: dr > 0 ? -1 : 1 } : { r, y, nr: dy, ny: -dr });
      continue;
    }
    const turn = Math.atan2(before[0] * after[1] - before[1] * after[0], before[0] * after[0] + before[1] * after[1]);
    const room = 0.499 * Math.min(length(corners[i - 1]!, corners[i]!), length(corners[i]!, corners[i + 1]!));
    const cut = Math.min(fillet * Math.tan(Math.abs(turn) / 2), room);
    if (cut < 1e-4) {
      const nr = before[1] + after[1];
      const ny = -before[0] - after[0];
      const l = Math.hypot(nr, ny) || 1;
      points.push({ r, y, nr: nr / l, ny: ny / l });
      continue;
    }
    const radius = cut / Math.tan(Math.abs(turn) / 2);
    const side = Math.sign(turn);
    const startR = r - before[0] * cut;
    const startY = y - before[1] * cut;
    const centreR = startR - before[1] * radius * side;
    const centreY = startY + before[0] * radius * side;
    const step = radius < SMALL_MM ? DEGREES_PER_SEGMENT.small : DEGREES_PER_SEGMENT.full;
    const segments = Math.max(2, Math.ceil((Math.abs(turn) * 180) / Math.PI / step));
    for (let k = 0; k <= segments; k++) {
      const angle = (turn * k) / segments;
      const dr = before[0] * Math.cos(angle) - before[1] * Math.sin(angle);
      const dy = before[0] * Math.sin(angle) + before[1] * Math.cos(angle);
      points.push({ r: centreR + dy * radius * side, y: centreY - dr * radius * side, nr: dy, ny: -dr });
    }
  }
  let s = 0;
  return points.map((point, i) => {
    const last = points[i - 1];
    if (last) s += Math.hypot(point.r - last.r, point.y - last.y) / 1000;
    return { r: point.r / 1000, y: point.y / 1000, nr: point.nr, ny: point.ny, s };
  });
}

/** Adds corners on a smooth curve (Catmull-Rom) through a few points; for legs, bulbs and bulging bodies. */
export function curveCorners(corners: readonly Corner[], segments: number): Corner[] {
  const curve: Corner[] = [];
  const at = (i: number): Corner => corners[Math.max(0, Math.min(corners.length - 1, i))]!;
  for (let i = 0; i < corners.length - 1; i++) {
    for (let k = 0; k < segments; k++) {
      const t = k / segments;
      const spline = (axis: 0 | 1): number => {
        const [a, b, c, d] = [at(i - 1)[axis], at(i)[axis], at(i + 1)[axis], at(i + 2)[axis]];
        return b + 0.5 * t * (c - a + t * (2 * a - 5 * b + 4 * c - d + t * (3 * (b - c) + d - a)));
      };
      curve.push([spline(0), spline(1)]);
    }
  }
  curve.push(corners[corners.length - 1]!);
  return curve;
}

function direction(a: Corner, b: Corner): readonly [number, number] {
  const l = length(a, b) || 1;
  return [(b[0] - a[0]) / l, (b[1] - a[1]) / l];
}

function length(a: Corner, b: Corner): number {
  return Math.hypot(b[0] - a[0], b[1] - a[1]);
}
