import type { ProfilePoint } from './profile.ts';

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
