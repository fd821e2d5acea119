/** A corner of a profile to be turned, in mm: radius from the axis, height, and the radius of its rounding. */
export type Corner = readonly [radiusMm: number, heightMm: number, filletMm?: number];

/** A point on a finished profile, in metres, with its outward normal and the length of the profile up to it. */
export interface ProfilePoint {
  readonly r: number;
  readonly y: number;
  readonly nr: number;
  readonly ny: number;
  readonly s: number;
}

/**
 * Degrees of turn for each segment of a rounding: 90° takes six, which keeps a highlight even at full frame. Edges
 * broken by less than `SMALL_MM` are a pixel or two wide in any picture and take four.
 */
const DEGREES_PER_SEGMENT = { full: 15, small: 22.5 } as const;
const SMALL_MM = 2.2;

/**
 * Rounds a polyline of corners into a smooth profile. It runs from the lower end outwards and up, so that its
 * outward side is on the right. Corners without a rounding share the mean normal of their neighbours, which is
 * what a curve given by many points needs.
 */
export function roundProfile(corners: readonly Corner[]): ProfilePoint[] {
  const points: { r: number; y: number; nr: number; ny: number }[] = [];
  for (let i = 0; i < corners.length; i++) {
    const [r, y, fillet = 0] = corners[i]!;
    const before = i > 0 ? direction(corners[i - 1]!, corners[i]!) : undefined;
    const after = i < corners.length - 1 ? direction(corners[i]!, corners[i + 1]!) : undefined;
    if (!before || !after) {
      const [dr, dy] = (before ?? after)!;
      // On the axis a surface of revolution is level, whatever the last segment does.
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

/** A smooth curve (Catmull-Rom) through a few corners, as many more; for legs, bulbs and bellies. */
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
