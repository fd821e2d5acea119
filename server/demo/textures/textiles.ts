import {
  blurColumns,
  blurRows,
  clamp01,
  type Field,
  makeField,
  makeNoise,
  makeRandom,
  smoothstep,
  wrap,
} from './field.ts';

/** A woven cloth: the thread on top at each crossing, and the thickness and evenness of the yarn. */
interface WeaveShape {
  readonly sizePx: number;
  readonly tileMm: number;
  /** Threads over the tile, warp (along V) and weft. */
  readonly ends: number;
  readonly picks: number;
  /** Whether the warp is on top where end `i` crosses pick `j`; repeats over the tile. */
  readonly warpOver: (i: number, j: number) => boolean;
  /** Linear reflectance of the yarns relative to the finish's colour, 0–1. */
  readonly warpTone: number;
  readonly weftTone: number;
  /** Variation of the yarn's thickness and tone, 0 (filament) to 1 (hand-spun). */
  readonly slub: number;
  /** Depth of the relief in thread diameters: flat calendered cloth 0.3, open cloth 0.8. */
  readonly loft: number;
  readonly seed: number;
}

/** Relief in mm and tone (linear, up to 1) of a woven cloth; both repeat at the edges. */
export function weave(shape: WeaveShape): { relief: Field; tone: Field } {
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
      // Gaps and flanks lose light; fibres reflect it unevenly.
      tone[at] = clamp01(yarn * (0.86 + 0.14 * clamp01((top - 0.2) / 0.9)) * (1 + 0.03 * fuzz[at]!));
    }
  }
  return {
    relief: { width: size, height: size, values: relief },
    tone: { width: size, height: size, values: tone },
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
interface BraidShape {
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

/** One slant: `across` counts strands, `along` their crossings. Each strand has three yarns side by side. */
function strand(across: number, along: number): number {
  const lane = Math.floor(across);
  const f = (across - lane - 0.5) * 2;
  const arch = Math.sqrt(Math.max(0, 1 - f * f * 1.04));
  const yarns = 0.09 * Math.cos(f * Math.PI * 3);
  const lift = Math.cos(Math.PI * (along - 0.5 + lane));
  return 0.55 + 0.3 * lift + 0.25 * arch + yarns;
}

/** The loops of a pile, seen from above; lengths in mm. */
interface PileShape {
  readonly sizePx: number;
  readonly tileMm: number;
  /** Thickness of the yarn, which has two twisted plies. */
  readonly yarnMm: number;
  /** Height of the crowns above the backing, minimum and maximum. */
  readonly heightMm: readonly [number, number];
  readonly loops: readonly Loop[];
  readonly seed: number;
}

/** One length of yarn that rises from the backing, turns, and goes back into it. */
interface Loop {
  /** Its start, and its first heading, radians. */
  readonly x: number;
  readonly y: number;
  readonly heading: number;
  /** Radius of its turn; negative turns the other way. */
  readonly radiusMm: number;
  /** Angle of its turn, radians. */
  readonly turn: number;
  /** Straight ends before and after the turn. */
  readonly legMm: number;
  /** Share by which the radius varies along the way: the rings of a fancy yarn are never exactly round. */
  readonly waver: number;
}

/**
 * Bouclé: a fancy yarn whose effect thread forms rings, 3 to 6 mm across the outside (common practice), in every
 * direction and over each other.
 * @param across mean number of rings along a side of the tile
 */
export function throwRings(tileMm: number, across: number, seed: number): readonly Loop[] {
  const random = makeRandom(seed);
  const step = tileMm / across;
  return Array.from({ length: across * across }, (_, n) => {
    const side = random() < 0.5 ? -1 : 1;
    const radiusMm = side * (1.1 + 1.1 * random() ** 1.5);
    return {
      // one per square, so no square is empty
      x: ((n % across) + random()) * step,
      y: (Math.floor(n / across) + random()) * step,
      heading: random() * 2 * Math.PI,
      radiusMm,
      turn: (1.2 + 0.7 * random()) * Math.PI,
      legMm: 0.9 * random(),
      waver: 0.55,
    };
  });
}

/**
 * Terry: loops of the pile warp, 3 to 5 mm high (common practice), in rows across. Each leans over and looks like a hairpin;
 * every other row is offset by half a step.
 * @param across loops along a row, and `down` rows; both over the tile
 */
export function setRows(tileMm: number, across: number, down: number, seed: number): readonly Loop[] {
  const random = makeRandom(seed);
  const [stepX, stepY] = [tileMm / across, tileMm / down];
  return Array.from({ length: across * down }, (_, n) => {
    const [column, row] = [n % across, Math.floor(n / across)];
    const lean = Math.PI / 2 + (random() - 0.5) * 1.7;
    return {
      x: (column + (row % 2) / 2 + (random() - 0.5) * 0.5) * stepX,
      y: (row + (random() - 0.5) * 0.5) * stepY,
      heading: lean + (random() < 0.5 ? Math.PI : 0),
      radiusMm: (random() < 0.5 ? -1 : 1) * (0.5 + 0.16 * random()),
      turn: Math.PI * (0.9 + 0.2 * random()),
      legMm: 0.8 + 0.5 * random(),
      waver: 0.2,
    };
  });
}

/** Relief in mm and tone (linear, up to 1) of a looped pile; both repeat at the edges. */
export function makePile({ sizePx: size, tileMm, yarnMm, heightMm, loops, seed }: PileShape) {
  const random = makeRandom(seed);
  const perMm = size / tileMm;
  const relief = new Float32Array(size * size);
  const shades = new Float32Array(size * size).fill(0.5);
  const stepMm = 1.6 / perMm;
  for (const { x: startX, y: startY, heading: first, radiusMm, turn, legMm, waver } of loops) {
    const shade = random();
    const crown = heightMm[0] + (heightMm[1] - heightMm[0]) * random();
    const thick = (yarnMm / 2) * (0.85 + 0.3 * random());
    const round = Math.abs(radiusMm) * turn;
    const length = round + 2 * legMm;
    const phase = 2 * Math.PI * random();
    let [x, y, heading] = [startX, startY, first];
    for (let at = 0; at <= length; at += stepMm) {
      const along = at / length;
      // it leaves the backing steeply, leans over, and returns
      const height = crown * Math.min(1, 2.4 * Math.sin(Math.PI * along)) * (0.75 + 0.25 * along);
      stamp(relief, shades, size, { x: x * perMm, y: y * perMm, heading, thick, perMm, height, shade, along: at });
      const bend = at < legMm || at > legMm + round ? 0.15 : 1 + waver * Math.sin(phase + (at / round) * 5);
      heading += (stepMm / radiusMm) * bend;
      x += Math.cos(heading) * stepMm;
      y += Math.sin(heading) * stepMm;
    }
  }
  return { relief: asField(size, relief), tone: asField(size, shadePile(relief, shades, size, yarnMm * perMm, seed)) };
}

interface Stamp {
  /** Pixels. */
  readonly x: number;
  readonly y: number;
  readonly heading: number;
  /** Radius of the yarn, mm. */
  readonly thick: number;
  readonly perMm: number;
  readonly height: number;
  readonly shade: number;
  /** Along the yarn, mm: determines the twist of its plies. */
  readonly along: number;
}

/** Turns of the twist per millimetre of yarn. */
const TWIST_PER_MM = 0.9;

/** Raises the relief to a slice of the yarn: two plies, side by side or one over the other. */
function stamp(relief: Float32Array, shades: Float32Array, size: number, s: Stamp): void {
  const radius = s.thick * s.perMm;
  const reach = Math.ceil(radius);
  const [cx, cy] = [Math.round(s.x), Math.round(s.y)];
  const [ax, ay] = [-Math.sin(s.heading), Math.cos(s.heading)];
  const phase = 2 * Math.PI * TWIST_PER_MM * s.along;
  for (let oy = -reach; oy <= reach; oy++) {
    const row = wrap(cy + oy, size) * size;
    const dy = cy + oy - s.y;
    for (let ox = -reach; ox <= reach; ox++) {
      const dx = cx + ox - s.x;
      const part = 1 - (dx * dx + dy * dy) / (radius * radius);
      if (part <= 0) continue;
      const at = row + wrap(cx + ox, size);
      const round = s.thick * Math.sqrt(part);
      if (s.height + round <= relief[at]!) continue;
      const across = (dx * ax + dy * ay) / radius;
      const h = s.height + round * (0.82 + 0.18 * Math.cos(2.6 * across * Math.PI + phase));
      if (h > relief[at]!) {
        relief[at] = h;
        shades[at] = s.shade;
      }
    }
  }
}

/** Darkens the pile between the loops: with the depth below the crowns, and below loops within a few yarns. */
function shadePile(
  relief: Float32Array,
  shades: Float32Array,
  size: number,
  yarnPx: number,
  seed: number,
): Float32Array {
  const fuzz = makeNoise(size, size, seed + 3, 1, 1).values;
  const sorted = Float32Array.from(relief).sort();
  const [low, high] = [sorted[Math.floor(sorted.length * 0.02)]!, sorted[Math.floor(sorted.length * 0.995)]!];
  const reach = Math.round(yarnPx);
  const round = blurColumns(blurRows(relief, size, size, reach), size, size, reach);
  const light = relief.map((h, i) => {
    const depth = smoothstep(low, high, h);
    const hollow = clamp01(0.5 + (h - round[i]!) / (0.5 * (high - low)));
    return clamp01((0.42 + 0.28 * depth + 0.3 * hollow) * (0.88 + 0.12 * shades[i]!) * (1 + 0.012 * fuzz[i]!));
  });
  // otherwise a few glints would darken all of it: a colour map multiplies the reflectance of a finish
  const white = Float32Array.from(light).sort()[Math.floor(light.length * 0.96)]!;
  return light.map((value) => Math.min(1, value / white));
}

const asField = (size: number, values: Float32Array): Field => ({ width: size, height: size, values });
