import { blurColumns, blurRows, clamp01, type Field, makeNoise, makeRandom, smoothstep, wrap } from './noise.ts';

/** How the loops of a pile lie, as seen from above; lengths in mm. */
export interface PileShape {
  readonly sizePx: number;
  readonly tileMm: number;
  /** Thickness of the yarn, which is twisted of two plies. */
  readonly yarnMm: number;
  /** Height of the crowns over the ground, least and greatest. */
  readonly heightMm: readonly [number, number];
  readonly loops: readonly Loop[];
  readonly seed: number;
}

/** One length of yarn that rises out of the ground, turns, and goes back into it. */
interface Loop {
  /** Where it begins, and its first heading, radians. */
  readonly x: number;
  readonly y: number;
  readonly heading: number;
  /** Radius it turns on; negative turns the other way. */
  readonly radiusMm: number;
  /** How far round it goes, radians. */
  readonly turn: number;
  /** Straight ends before and after the turn. */
  readonly legMm: number;
  /** Share by which the radius wavers along the way: no two rings of a fancy yarn are round. */
  readonly waver: number;
}

/**
 * Bouclé: a fancy yarn whose effect thread stands out in rings, 3 to 6 mm across the outside (common practice), thrown
 * every way and over each other.
 * @param across rings along a side of the tile, on the mean
 */
export function throwRings(tileMm: number, across: number, seed: number): readonly Loop[] {
  const random = makeRandom(seed);
  const step = tileMm / across;
  return Array.from({ length: across * across }, (_, n) => {
    const side = random() < 0.5 ? -1 : 1;
    const radiusMm = side * (1.1 + 1.1 * random() ** 1.5);
    return {
      // one to a square, so that none lies bare
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
 * Terry: loops of the pile warp, 3 to 5 mm high (common practice), in rows across. Each leans over as it was laid and shows
 * as a hairpin; every other row stands half a step aside.
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
      // it leaves the ground steeply, lies over, and goes back
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
  /** Along the yarn, mm: where its plies stand. */
  readonly along: number;
}

/** Turns of the twist to a millimetre of yarn. */
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

/** Light that is lost between the loops: with depth below the crowns, and below what stands within a few yarns. */
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
  // a few glints would else darken all of it: a colour map multiplies what a finish reflects
  const white = Float32Array.from(light).sort()[Math.floor(light.length * 0.96)]!;
  return light.map((value) => Math.min(1, value / white));
}

const asField = (size: number, values: Float32Array): Field => ({ width: size, height: size, values });
