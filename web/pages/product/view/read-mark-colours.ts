import type { ViewLight } from '../../../../renderer/page/live-view.ts';

type Rgb = readonly [number, number, number];

/** The colours of lines over the view: those of the page, or black and white on grey. */
export function readMarkColours(light: ViewLight): { readonly ink: Rgb; readonly paper: Rgb } {
  if (light === 'even') return { ink: [0, 0, 0], paper: [1, 1, 1] };
  const style = getComputedStyle(document.documentElement);
  return { ink: readHex(style.getPropertyValue('--ink')), paper: readHex(style.getPropertyValue('--paper')) };
}

function readHex(text: string): Rgb {
  const value = Number.parseInt(text.trim().slice(1), 16);
  return [(value >> 16) & 255, (value >> 8) & 255, value & 255].map((level) => level / 255) as unknown as Rgb;
}
