import { add, cross, type Mesh, makeSheet, mergeMeshes, normalise, type Vector } from './mesh.ts';

interface TubeOptions {
  readonly radiusM: number;
  readonly around: number;
  /** The path's last point equals its first: a ring. */
  readonly closed?: boolean;
  /** Ends are rounded like a bead of thread; otherwise they stay open, for ends inside another part. */
  readonly roundEnds?: boolean;
  /** Maps (turn 0–1, length in metres) to the part's own maps. */
  readonly uv1?: (turn: number, lengthM: number) => readonly [number, number];
}

/** Rows of a rounded end: their distance along and their width, as parts of the radius. */
const END_ROWS: readonly (readonly [along: number, wide: number])[] = [
  [-1, 0.02],
  [-0.85, 0.53],
  [-0.5, 0.87],
];

/** A round tube along a path in metres, with a frame that follows the path without twist. U goes around, V along. */
export function makeTube(path: readonly Vector[], options: TubeOptions): Mesh {
  const { radiusM, around, closed = false, roundEnds = false } = options;
  const rings: { centre: Vector; normal: Vector; binormal: Vector; radius: number; length: number }[] = [];
  let normal: Vector | undefined;
  let length = 0;
  path.forEach((point, i) => {
    const before = path[i - 1] ?? (closed ? path[path.length - 2]! : point);
    const after = path[i + 1] ?? (closed ? path[1]! : point);
    const tangent = normalise(add(after, before, -1));
    const guess = normal ?? (Math.abs(tangent[1]) < 0.9 ? ([0, 1, 0] as const) : ([1, 0, 0] as const));
    const along = guess[0] * tangent[0] + guess[1] * tangent[1] + guess[2] * tangent[2];
    normal = normalise(add(guess, tangent, -along));
    if (i > 0) length += Math.hypot(...add(point, path[i - 1]!, -1));
    const ring = { centre: point, normal, binormal: cross(tangent, normal), radius: radiusM, length };
    const bead =
      (sign: number) =>
      ([along, wide]: readonly [number, number]) => ({
        ...ring,
        centre: add(point, tangent, sign * along * radiusM),
        radius: radiusM * wide,
        length: length + sign * along * radiusM,
      });
    if (roundEnds && i === 0) rings.push(...END_ROWS.map(bead(1)));
    rings.push(ring);
    if (roundEnds && i === path.length - 1) rings.push(...END_ROWS.map(bead(-1)).reverse());
  });
  return makeSheet({
    columns: around,
    rows: rings.length - 1,
    closed: true,
    point: (i, j) => {
      const { centre, normal: n, binormal: b, radius } = rings[j]!;
      const angle = ((i % around) / around) * 2 * Math.PI;
      return add(add(centre, n, Math.cos(angle) * radius), b, Math.sin(angle) * radius);
    },
    uv0: (i, j) => [(i / around) * 2 * Math.PI * radiusM, -rings[j]!.length],
    uv1: (i, j) => options.uv1?.(i / around, rings[j]!.length) ?? [i / around, j / (rings.length - 1)],
  });
}

/** A horizontal ring of points around the axis; the first and last are the same. */
export function ringPath(radiusM: number, yM: number, segments: number): Vector[] {
  return Array.from({ length: segments + 1 }, (_, i) => {
    const angle = ((i % segments) / segments) * 2 * Math.PI;
    return [-radiusM * Math.sin(angle), yM, -radiusM * Math.cos(angle)] as const;
  });
}

/** A smooth path through a few points (Catmull-Rom), at steps of about `stepM` along it. */
export function curvePath(points: readonly Vector[], stepM: number): Vector[] {
  const at = (i: number): Vector => points[Math.max(0, Math.min(points.length - 1, i))]!;
  const path: Vector[] = [];
  for (let i = 0; i < points.length - 1; i++) {
    const steps = Math.max(2, Math.round(Math.hypot(...add(at(i + 1), at(i), -1)) / stepM));
    for (let k = 0; k < steps; k++) {
      const t = k / steps;
      const spline = (axis: 0 | 1 | 2): number => {
        const [a, b, c, d] = [at(i - 1)[axis], at(i)[axis], at(i + 1)[axis], at(i + 2)[axis]];
        return b + 0.5 * t * (c - a + t * (2 * a - 5 * b + 4 * c - d + t * (3 * (b - c) + d - a)));
      };
      path.push([spline(0), spline(1), spline(2)]);
    }
  }
  path.push(points[points.length - 1]!);
  return path;
}

interface StitchRow {
  readonly radiusM: number;
  readonly yM: number;
  /** Direction away from the surface in the half-plane of radius and height, of length 1. */
  readonly out: readonly [radial: number, up: number];
  readonly count: number;
  /** Thread in metres: its radius, and the visible share of the pitch. */
  readonly threadM: number;
  readonly share: number;
  /** The place of a thread on the material's own maps: `turn` runs around it. */
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
