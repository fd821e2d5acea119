import { clamp01, type Field, makeField, makeNoise, smoothstep } from './noise.ts';

export interface WoodShape {
  readonly widthPx: number;
  readonly heightPx: number;
  /** Growth rings over the tile's width; a whole number closes the tile. */
  readonly rings: number;
  /** How far the rings wander, in ring widths: 0.3 for quarter-sawn, 1.5 for flat-sawn boards. */
  readonly wander: number;
  /** How dark late wood and pores are, 0–1 of the light lost. */
  readonly lateWood: number;
  readonly pores: number;
  readonly seed: number;
}

/** Tone of a planed board, grain along V: growth rings, the fibre's silk and open pores. Linear, up to 1. */
export function makeWoodGrain(shape: WoodShape): { tone: Field; poreDepth: Field } {
  const { widthPx: w, heightPx: h, rings, wander, seed } = shape;
  const drift = makeNoise(w, h, seed, Math.round(w / 14), Math.round(h / 7)).values;
  const ripple = makeNoise(w, h, seed + 1, Math.round(w / 60), Math.round(h / 14)).values;
  const silk = makeNoise(w, h, seed + 2, 0, Math.round(h / 40)).values;
  const band = makeNoise(w, h, seed + 3, Math.round(w / 9), Math.round(h / 3)).values;
  const vessel = makeNoise(w, h, seed + 4, 0, Math.round(h / 110)).values;
  const late = new Float32Array(w * h);
  const poreDepth = makeField(w, h, (x, y) => {
    const i = y * w + x;
    const ring = (x / w) * rings + wander * drift[i]! + 0.16 * ripple[i]!;
    const phase = ring - Math.floor(ring);
    // Slow start, dense end, then the sharp edge where the next spring begins.
    late[i] = smoothstep(0.15, 0.86, phase) * (1 - smoothstep(0.9, 1, phase));
    // Vessels are widest in the early wood just after that edge.
    const early = 1 - smoothstep(0.05, 0.55, phase) * 0.8;
    return clamp01((vessel[i]! - 1.15) * 0.9) * early;
  });
  const tone = makeField(w, h, (x, y) => {
    const i = y * w + x;
    const base = 1 - shape.lateWood * late[i]! - shape.pores * poreDepth.values[i]!;
    return clamp01(base * (0.93 + 0.028 * silk[i]! + 0.02 * band[i]!));
  });
  return { tone, poreDepth };
}

/** Tints a tone: darker wood is also redder, as tannin is. `tint` is linear RGB at tone 0, white at tone 1. */
export function tintTone(tone: Field, tint: readonly [number, number, number]): [Field, Field, Field] {
  const channel = (dark: number): Field => ({
    ...tone,
    values: tone.values.map((t) => t * (dark + (1 - dark) * t)),
  });
  return [channel(tint[0]), channel(tint[1]), channel(tint[2])];
}
