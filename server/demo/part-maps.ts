import { BRAID_REPEAT_M, CORD_RADIUS_M } from './cord-and-switch.ts';
import type { Mesh } from './geometry/mesh.ts';
import type { ProfilePoint } from './geometry/profile.ts';
import { encodeLinearMap, encodeNormalMap } from './textures/encode-map.ts';
import { makeField, smoothstep } from './textures/noise.ts';
import { makeBraidRelief } from './textures/weave.ts';

/** Maps that belong to one part whatever its finish: they travel inside the model, on `uv1`. */
export interface PartMaps {
  readonly normal: Uint8Array;
  readonly occlusion: Uint8Array;
}

/** Strands of each slant around the cord: with 8, a strand is 2.5 mm wide and shows in a full-frame picture. */
const STRANDS = 8;

export async function makeBraidMaps(): Promise<PartMaps> {
  const size = 256;
  const relief = makeBraidRelief({ widthPx: size, heightPx: size, strands: STRANDS, reliefMm: 0.55 });
  const around = 2 * Math.PI * CORD_RADIUS_M * 1000;
  const [normal, occlusion] = await Promise.all([
    encodeNormalMap(relief, { x: around / size, y: (BRAID_REPEAT_M * 1000) / size }),
    encodeLinearMap({ ...relief, values: relief.values.map((v) => 0.35 + 0.65 * smoothstep(0.28, 0.55, v)) }),
  ]);
  return { normal, occlusion };
}

/** Columns of the piping's map: once round the piping, then thread for the stitches. */
export const PIPING_TURN = 0.75;
/** Length of one repeat along the piping: three stitches. */
export const PIPING_REPEAT_M = 0.0225;
/** The piping's frame starts on top and turns outwards: its seam lies at three quarters, towards the seat's middle. */
const SEAM_AT = 0.75;

/** Gentle puckers where each stitch draws the piping in, and the twist of the thread beside it. */
export async function makePipingMaps(): Promise<PartMaps> {
  const width = 128;
  const height = 256;
  const turned = width * PIPING_TURN;
  const nearSeam = (x: number): number => {
    const away = Math.abs(x / turned - SEAM_AT);
    return 1 - 2 * Math.min(away, 1 - away);
  };
  const relief = makeField(width, height, (x, y) => {
    const along = (y / height) * 3 * 2 * Math.PI;
    if (x >= turned) return 0.1 * Math.abs(Math.sin(((y / height) * 12 + (x - turned) / 8) * Math.PI));
    return 0.3 * nearSeam(x) ** 3 * Math.cos(along + 0.8 * Math.sin(along));
  });
  // 22 mm is once round a piping of 7 mm.
  const step = { x: 22 / turned, y: (PIPING_REPEAT_M * 1000) / height };
  const occlusion = makeField(width, height, (x) => (x >= turned ? 1 : 1 - 0.7 * smoothstep(0.5, 0.95, nearSeam(x))));
  return { normal: await encodeNormalMap(relief, step), occlusion: await encodeLinearMap(occlusion) };
}

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
