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

/** A solid of revolution as a filled outline in metres: radius and height of its corners, in order. */
export type Outline = readonly { readonly r: number; readonly y: number }[];

/** Grid of the (radius, height) half-plane. 1 mm: finer than any groove that shows, small enough to fill at once. */
const CELL_M = 0.001;
/** Beyond this distance nothing darkens: farther parts are the studio's shadows to draw. */
const REACH_M = 0.14;
const DIRECTIONS = 160;

/**
 * How much of the sky each point of a turned part sees among other turned parts (1 = all of it). Rays are marched
 * through the filled half-plane, cosine-weighted, on a fixed fan of directions: the same bytes each time.
 */
export function makeTurnedOcclusion(solids: readonly Outline[]): (points: readonly ProfilePoint[]) => Float32Array {
  const all = solids.flat();
  const lowest = Math.min(...all.map((p) => p.y)) - 0.002;
  const height = Math.ceil((Math.max(...all.map((p) => p.y)) + 0.002 - lowest) / CELL_M);
  const width = Math.ceil((Math.max(...all.map((p) => p.r)) + 0.002) / CELL_M);
  const filled = new Uint8Array(width * height);
  for (const solid of solids) fillOutline(solid, filled, width, height, lowest);
  const blocked = (r: number, y: number): boolean => {
    const column = Math.floor(r / CELL_M);
    const row = Math.floor((y - lowest) / CELL_M);
    return column < width && row >= 0 && row < height && filled[row * width + column] === 1;
  };
  return (points) => {
    const open = Float32Array.from(points, (point) => openness(point, blocked));
    // The grid's steps would show as fine rings on a smooth wall; five rows of running mean take them out.
    return open.map((_, i) => {
      let sum = 0;
      for (let k = -2; k <= 2; k++) sum += open[Math.max(0, Math.min(open.length - 1, i + k))]!;
      return sum / 5;
    });
  };
}

function openness(point: ProfilePoint, blocked: (r: number, y: number) => boolean): number {
  let open = 0;
  for (let k = 0; k < DIRECTIONS; k++) {
    // Golden-angle spiral over the disc, lifted to the hemisphere: cosine-weighted without randomness.
    const ring = Math.sqrt((k + 0.5) / DIRECTIONS);
    const turn = k * 2.399963229728653;
    const lift = Math.sqrt(1 - ring * ring);
    const across = ring * Math.cos(turn);
    const side = ring * Math.sin(turn);
    const dr = point.nr * lift - point.ny * across;
    const dy = point.ny * lift + point.nr * across;
    // Start two cells off the surface, or the part's own grid cells would shade it.
    let t = 0.0022;
    let step = 0.0012;
    let share = 1;
    while (t < REACH_M) {
      const r = Math.hypot(point.r + dr * t, side * t);
      if (blocked(r, point.y + dy * t)) {
        share = (t / REACH_M) ** 0.8;
        break;
      }
      t += step;
      step *= 1.12;
    }
    open += share;
  }
  return open / DIRECTIONS;
}

/** Even-odd filling, row by row. */
function fillOutline(outline: Outline, filled: Uint8Array, width: number, height: number, lowest: number): void {
  for (let row = 0; row < height; row++) {
    const y = lowest + (row + 0.5) * CELL_M;
    const crossings: number[] = [];
    outline.forEach((a, i) => {
      const b = outline[(i + 1) % outline.length]!;
      if (a.y <= y !== b.y <= y) crossings.push(a.r + ((y - a.y) / (b.y - a.y)) * (b.r - a.r));
    });
    crossings.sort((p, q) => p - q);
    for (let k = 0; k + 1 < crossings.length; k += 2) {
      const to = Math.min(width - 1, Math.floor(crossings[k + 1]! / CELL_M));
      for (let column = Math.max(0, Math.floor(crossings[k]! / CELL_M)); column <= to; column++) {
        filled[row * width + column] = 1;
      }
    }
  }
}
