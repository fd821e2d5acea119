import type { Illuminant, Observer, Spectrum } from '../finish/finish.ts';
import { ILLUMINANT_POWER, MATCHING_FUNCTIONS, TABLE_START_NM, TABLE_STEP_NM } from './cie-tables.ts';
import { WHITE_POINTS, type Xyz } from './xyz-lab.ts';

/**
 * Reflectance to XYZ under an illuminant and observer; the perfect white has exactly the XYZ of `WHITE_POINTS`.
 *
 * Sums reflectance × power × matching function every 5 nm from 380 to 780 nm. Values between the readings come from a
 * cubic through the four nearest (Lagrange); beyond the ends the last reading goes on, as in ASTM E308; readings outside
 * 380–780 nm are not looked at. Each of X, Y and Z is divided by its own sum for the perfect white and multiplied by the
 * named white: neutral stays neutral, at the price of at most 0.03 % against one divisor for all three.
 */
export function integrateSpectrum(spectrum: Spectrum, illuminant: Illuminant, observer: Observer): Xyz {
  const power = ILLUMINANT_POWER[illuminant];
  const { x, y, z } = MATCHING_FUNCTIONS[observer];
  const white = WHITE_POINTS[illuminant][observer];
  const sum: [number, number, number] = [0, 0, 0];
  const all: [number, number, number] = [0, 0, 0];
  power.forEach((at, row) => {
    const weights = [at * x[row]!, at * y[row]!, at * z[row]!] as const;
    const reflectance = readAt(spectrum, TABLE_START_NM + row * TABLE_STEP_NM);
    for (const i of [0, 1, 2] as const) {
      sum[i] += reflectance * weights[i];
      all[i] += weights[i];
    }
  });
  return [(white[0] * sum[0]) / all[0], (white[1] * sum[1]) / all[1], (white[2] * sum[2]) / all[2]];
}

/** Reflectance at a wavelength in nm. */
function readAt({ startNm, stepNm, values }: Spectrum, nm: number): number {
  const place = Math.min(values.length - 1, Math.max(0, (nm - startNm) / stepNm));
  const below = Math.floor(place);
  if (below === place) return values[below]!;
  const first = Math.min(Math.max(0, below - 1), Math.max(0, values.length - 4));
  const last = Math.min(first + 3, values.length - 1);
  let reflectance = 0;
  for (let i = first; i <= last; i++) {
    let share = 1;
    for (let j = first; j <= last; j++) if (j !== i) share *= (place - j) / (i - j);
    reflectance += share * values[i]!;
  }
  return reflectance;
}
