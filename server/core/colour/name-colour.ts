import type { Lab } from './lab.ts';

/**
 * A plain English word for a colour, such as “light brown” or “dark blue”: something to call a part by until somebody
 * gives it its name. Boundaries are judgement, in lightness L* 0–100, chroma C*ab and hue angle h*ab in degrees.
 */
export function nameColour([lightness, a, b]: Lab): string {
  const chroma = Math.hypot(a, b);
  const hue = ((Math.atan2(b, a) * 180) / Math.PI + 360) % 360;
  if (lightness < 20 && chroma < 12) return 'black';
  if (chroma < 8) return nameGrey(lightness);
  // woods, leathers and earths are dark or muted oranges and yellows
  if (hue >= 30 && hue < 95 && (chroma < 42 || lightness < 48)) {
    if (lightness >= 82) return 'beige';
    if (hue < 45 && chroma >= 42) return withShade(lightness, 'red');
    return lightness >= 62 ? 'light brown' : lightness >= 32 ? 'brown' : 'dark brown';
  }
  const [, name] = HUES.find(([until]) => hue < until) ?? [360, 'red'];
  if (name === 'red' && (hue >= 345 || hue < 20) && lightness >= 60) return 'pink';
  return withShade(lightness, name);
}

/** Hue angles at which a name ends; reds go on from 345 to the first. */
const HUES: readonly (readonly [number, string])[] = [
  [50, 'red'],
  [80, 'orange'],
  [112, 'yellow'],
  [180, 'green'],
  [225, 'turquoise'],
  [310, 'blue'],
  [345, 'violet'],
];

function nameGrey(lightness: number): string {
  if (lightness >= 92) return 'white';
  if (lightness >= 70) return 'light grey';
  return lightness >= 42 ? 'grey' : 'dark grey';
}

function withShade(lightness: number, name: string): string {
  if (lightness < 32) return `dark ${name}`;
  return lightness >= 75 && name !== 'yellow' ? `light ${name}` : name;
}
