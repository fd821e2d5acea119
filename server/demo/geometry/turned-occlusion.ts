import { encodeLinearMap, makeField } from '../textures/field.ts';
import type { ProfilePoint } from './lathe.ts';
import type { Mesh } from './mesh.ts';

/** A solid of revolution as a filled outline in metres: radius and height of its corners, in order. */
type Outline = readonly { readonly r: number; readonly y: number }[];

/** Grid of the (radius, height) half-plane. 1 mm: finer than any visible groove, coarse enough to fill quickly. */
const CELL_M = 0.001;
/** Parts farther away than this do not darken: the studio draws their shadows. */
const REACH_M = 0.14;
const DIRECTIONS = 160;

/**
 * The share of the sky that each point of a turned part sees among other turned parts (1 = all of it). Rays go through
 * the filled half-plane, cosine-weighted, in a fixed set of directions, so the bytes are always the same.
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
    // The grid's steps would be visible as fine rings on a smooth wall; a running mean over five rows removes them.
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
    // Golden-angle spiral over the disc, lifted to the hemisphere: cosine-weighted without random numbers.
    const ring = Math.sqrt((k + 0.5) / DIRECTIONS);
    const turn = k * 2.399963229728653;
    const lift = Math.sqrt(1 - ring * ring);
    const across = ring * Math.cos(turn);
    const side = ring * Math.sin(turn);
    const dr = point.nr * lift - point.ny * across;
    const dy = point.ny * lift + point.nr * across;
    // Start two cells off the surface; otherwise the part's own grid cells would shade it.
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

/** Rows along the profile: a groove of 1.5 mm on a profile of 400 mm still has a row of its own. */
const ROWS = 256;

/** Pixels across one strip: enough that bilinear sampling in its middle never reads the next one. */
const STRIP_PX = 8;

/**
 * Occlusion of turned parts of one material as strips side by side. A strip is constant around the axis; `v` runs along
 * the profile as in the `uv1` of `turnProfile`. Use `onStrip` to place a part's `uv1` on its strip. Powers of two only.
 */
export function encodeStrips(strips: readonly Float32Array[]): Promise<Uint8Array> {
  return encodeLinearMap(makeField(STRIP_PX * strips.length, ROWS, (x, y) => strips[Math.floor(x / STRIP_PX)]![y]!));
}

/** Places `uv1` on the middle of strip `index` of `count`; `at` is a fixed place along it, for free-standing parts. */
export function onStrip(mesh: Mesh, index: number, count: number, at?: number): Mesh {
  const uv1 = mesh.uv1.map((value, i) => (i % 2 === 0 ? (index + 0.5) / count : (at ?? value)));
  return { ...mesh, uv1 };
}

/** Samples along a profile, evenly spaced, one for each row of a strip. */
export function sampleProfile(profile: readonly ProfilePoint[]): ProfilePoint[] {
  const total = profile[profile.length - 1]!.s;
  const samples: ProfilePoint[] = [];
  let segment = 0;
  for (let row = 0; row < ROWS; row++) {
    const s = ((row + 0.5) / ROWS) * total;
    while (segment < profile.length - 2 && profile[segment + 1]!.s < s) segment++;
    const a = profile[segment]!;
    const b = profile[segment + 1]!;
    const t = (s - a.s) / Math.max(1e-9, b.s - a.s);
    const mix = (key: 'r' | 'y' | 'nr' | 'ny'): number => a[key] + (b[key] - a[key]) * t;
    const length = Math.hypot(mix('nr'), mix('ny')) || 1;
    samples.push({ r: mix('r'), y: mix('y'), nr: mix('nr') / length, ny: mix('ny') / length, s });
  }
  return samples;
}
