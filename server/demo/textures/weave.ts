import { clamp01, type Field, makeField, makeNoise, makeRandom, wrap } from './noise.ts';

/** A cloth as woven: which thread lies on top where, how thick and how even the yarn is. */
export interface WeaveShape {
  readonly sizePx: number;
  readonly tileMm: number;
  /** Threads over the tile, warp (along V) and weft. */
  readonly ends: number;
  readonly picks: number;
  /** The warp lies on top where end `i` crosses pick `j`; repeats over the tile. */
  readonly warpOver: (i: number, j: number) => boolean;
  /** Linear reflectance of the yarns against the finish's colour, 0–1. */
  readonly warpTone: number;
  readonly weftTone: number;
  /** How much the yarn's thickness and tone vary, 0 (filament) to 1 (hand-spun). */
  readonly slub: number;
  /** Depth of the relief in thread diameters: flat calendered cloth 0.3, open cloth 0.8. */
  readonly loft: number;
  readonly seed: number;
}

/** Relief in mm and tone (linear, up to 1) of a woven cloth; both repeat at the edges. */
export function weave(shape: WeaveShape): { relief: Field; tone: Field; stepMm: number } {
  const { sizePx: size, tileMm, ends, picks, warpOver, slub, loft } = shape;
  const warp = makeYarns(size, ends, slub, shape.seed);
  const weft = makeYarns(size, picks, slub, shape.seed + 7);
  const fuzz = makeNoise(size, size, shape.seed + 13, 0, 0).values;
  const diameterMm = tileMm / Math.max(ends, picks);
  const over = new Float32Array(ends * picks);
  for (let i = 0; i < ends; i++) for (let j = 0; j < picks; j++) over[i * picks + j] = warpOver(i, j) ? 1 : -1;
  const relief = new Float32Array(size * size);
  const tone = new Float32Array(size * size);
  for (let y = 0; y < size; y++) {
    const gy = ((y + 0.5) / size) * picks;
    const j = Math.floor(gy);
    const fy = gy - j - 0.5;
    const jNext = wrap(j + (fy < 0 ? -1 : 1), picks);
    const bendY = (1 - Math.cos(Math.PI * Math.abs(fy))) / 2;
    for (let x = 0; x < size; x++) {
      const gx = ((x + 0.5) / size) * ends;
      const i = Math.floor(gx);
      const fx = gx - i - 0.5;
      const iNext = wrap(i + (fx < 0 ? -1 : 1), ends);
      const bendX = (1 - Math.cos(Math.PI * Math.abs(fx))) / 2;
      const here = over[i * picks + j]!;
      // Each thread bends from crossing to crossing; over a float it stays up.
      const warpLift = here + (over[i * picks + jNext]! - here) * bendY;
      const weftLift = -(here + (over[iNext * picks + j]! - here) * bendX);
      const warpWide = warp.wide[i * size + y]!;
      const weftWide = weft.wide[j * size + x]!;
      const a = arch(fx / warpWide) * warpWide + 0.42 * warpLift;
      const b = arch(fy / weftWide) * weftWide + 0.42 * weftLift;
      const at = y * size + x;
      const top = Math.max(a, b);
      relief[at] = top * diameterMm * loft * 0.5;
      const yarn = a > b ? shape.warpTone * warp.tone[i * size + y]! : shape.weftTone * weft.tone[j * size + x]!;
      // Gaps and flanks lose light; fibres catch it unevenly.
      tone[at] = clamp01(yarn * (0.86 + 0.14 * clamp01((top - 0.2) / 0.9)) * (1 + 0.03 * fuzz[at]!));
    }
  }
  return {
    relief: { width: size, height: size, values: relief },
    tone: { width: size, height: size, values: tone },
    stepMm: tileMm / size,
  };
}

/** Width (1 = the full pitch) and tone along each yarn: soft variation along it, and from yarn to yarn. */
function makeYarns(
  length: number,
  count: number,
  slub: number,
  seed: number,
): { wide: Float32Array; tone: Float32Array } {
  const random = makeRandom(seed);
  const along = makeNoise(length, count, seed + 1, Math.round(length / 28), 0).values;
  const shade = makeNoise(length, count, seed + 2, Math.round(length / 12), 0).values;
  const wide = new Float32Array(length * count);
  const tone = new Float32Array(length * count);
  for (let i = 0; i < count; i++) {
    const own = random() - 0.5;
    for (let k = 0; k < length; k++) {
      const at = i * length + k;
      wide[at] = 0.94 + slub * (0.1 * along[at]! + 0.16 * own);
      tone[at] = Math.min(1, 0.93 + slub * (0.05 * shade[at]! + 0.12 * own));
    }
  }
  return { wide, tone };
}

function arch(f: number): number {
  return Math.sqrt(Math.max(0, 1 - 4 * f * f));
}

/** Relief of a braided sleeve in mm: strands cross over and under each other on two slants. */
export interface BraidShape {
  readonly widthPx: number;
  readonly heightPx: number;
  /** Strands of each slant over the width and height of the map. */
  readonly strands: number;
  readonly reliefMm: number;
}

export function makeBraidRelief({ widthPx, heightPx, strands, reliefMm }: BraidShape): Field {
  return makeField(widthPx, heightPx, (x, y) => {
    const u = ((x + 0.5) / widthPx) * strands;
    const v = ((y + 0.5) / heightPx) * strands;
    const a = u + v;
    const b = u - v;
    const over = strand(a, b);
    const under = strand(b + 1, a);
    return Math.max(over, under) * reliefMm;
  });
}

/** One slant: `across` counts strands, `along` their crossings. Three yarns lie side by side in each strand. */
function strand(across: number, along: number): number {
  const lane = Math.floor(across);
  const f = (across - lane - 0.5) * 2;
  const arch = Math.sqrt(Math.max(0, 1 - f * f * 1.04));
  const yarns = 0.09 * Math.cos(f * Math.PI * 3);
  const lift = Math.cos(Math.PI * (along - 0.5 + lane));
  return 0.55 + 0.3 * lift + 0.25 * arch + yarns;
}
