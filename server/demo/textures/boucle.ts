import type { Field } from './noise.ts';
import { makeNoise, makeRandom, wrap } from './noise.ts';

export interface CurlShape {
  readonly sizePx: number;
  readonly tileMm: number;
  readonly curls: number;
  /** Mean radius of a curl and of its yarn, mm. */
  readonly curlMm: number;
  readonly yarnMm: number;
  readonly seed: number;
}

/**
 * Looped pile: short lengths of yarn that curl up out of the ground and back into it, thrown over each other.
 * Relief in mm and tone (linear, up to 1).
 */
export function makeCurls({ sizePx: size, tileMm, curls, curlMm, yarnMm, seed }: CurlShape) {
  const random = makeRandom(seed);
  const perMm = size / tileMm;
  const relief = new Float32Array(size * size);
  const shades = new Float32Array(size * size).fill(0.3);
  const clumps = makeNoise(size, size, seed + 9, Math.round(size / 26)).values;
  for (let n = 0; n < curls; n++) {
    let x = random() * size;
    let y = random() * size;
    let heading = random() * 2 * Math.PI;
    const bend = ((random() < 0.5 ? -1 : 1) * (0.6 + random())) / curlMm;
    const shade = random();
    const thick = yarnMm * (0.75 + 0.5 * random());
    const steps = Math.round((3.2 + 3.4 * random()) * (curlMm / thick) * 1.6);
    const stepMm = thick * 0.6;
    // The pile is higher in some places than in others, and a curl has its crown in its middle.
    const ground = 0.35 * clumps[wrap(Math.round(y), size) * size + wrap(Math.round(x), size)]! + 0.5 * random();
    for (let k = 0; k <= steps; k++) {
      const crown = Math.sin((Math.PI * k) / steps);
      stampBall(relief, shades, size, x, y, thick * perMm, thick, ground + 1.5 * crown, shade);
      heading += bend * stepMm * (0.7 + 0.6 * random());
      x += Math.cos(heading) * stepMm * perMm;
      y += Math.sin(heading) * stepMm * perMm;
    }
  }
  const fuzz = makeNoise(size, size, seed + 3, 1, 1).values;
  let most = 0;
  for (const h of relief) most = Math.max(most, h);
  const tone = relief.map((h, i) => 0.5 + 0.4 * Math.max(0, h / most) ** 0.8 + 0.08 * shades[i]! + 0.012 * fuzz[i]!);
  const field = (values: Float32Array): Field => ({ width: size, height: size, values });
  return { relief: field(relief), tone: field(tone) };
}

/** Raises the relief to a ball of yarn at a place; `radius` in pixels, heights in mm. */
function stampBall(
  relief: Float32Array,
  shades: Float32Array,
  size: number,
  x: number,
  y: number,
  radius: number,
  thick: number,
  height: number,
  shade: number,
): void {
  const reach = Math.ceil(radius);
  const cx = Math.round(x);
  const cy = Math.round(y);
  for (let oy = -reach; oy <= reach; oy++) {
    const row = wrap(cy + oy, size) * size;
    const dy = cy + oy - y;
    for (let ox = -reach; ox <= reach; ox++) {
      const dx = cx + ox - x;
      const part = 1 - (dx * dx + dy * dy) / (radius * radius);
      if (part <= 0) continue;
      const at = row + wrap(cx + ox, size);
      const h = height + thick * Math.sqrt(part);
      if (h > relief[at]!) {
        relief[at] = h;
        shades[at] = shade;
      }
    }
  }
}
