import type { Mesh } from './geometry/mesh.ts';
import type { ProfilePoint } from './geometry/profile.ts';
import { encodeLinearMap } from './textures/encode-map.ts';
import { makeField } from './textures/noise.ts';

/** Rows along the profile: a groove of 1.5 mm on a profile of 400 mm still gets a row of its own. */
const ROWS = 256;

/** Pixels across one strip: enough that bilinear sampling in its middle never reads the next one. */
const STRIP_PX = 8;

/**
 * Occlusion of turned parts of one material as strips side by side. A strip is the same all round; `v` runs along the
 * profile as `turnProfile` lays out `uv1`. Use `onStrip` to put a part's `uv1` on its strip. Powers of two only.
 */
export function encodeStrips(strips: readonly Float32Array[]): Promise<Uint8Array> {
  return encodeLinearMap(makeField(STRIP_PX * strips.length, ROWS, (x, y) => strips[Math.floor(x / STRIP_PX)]![y]!));
}

/** Puts `uv1` on the middle of strip `index` of `count`; `at` fixes one place along it, for parts that stand free. */
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
