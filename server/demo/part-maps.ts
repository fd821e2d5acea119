import { BRAID_REPEAT_M, CORD_RADIUS_M } from './cord.ts';
import { makeBraidRelief } from './textures/braid.ts';
import { encodeLinearMap, encodeNormalMap } from './textures/encode-map.ts';
import { makeField, smoothstep } from './textures/noise.ts';

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
