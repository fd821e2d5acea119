import { type Lab, linearToLab } from './lab.ts';
import { hexToLinear } from './srgb.ts';

/** CIE 1976 colour difference: the distance of two colours in Lab (CIE 15). */
export function deltaEab(a: Lab, b: Lab): number {
  return Math.hypot(a[0] - b[0], a[1] - b[1], a[2] - b[2]);
}

/** `#rrggbb` to Lab under D65. */
export function hexToLab(hex: string): Lab {
  return linearToLab(hexToLinear(hex));
}
