import type { GivenColour } from '../finish/read-finish.ts';
import { Problem } from '../problems.ts';
import { COLOUR_PROBLEMS } from '../texts/problems/colour.ts';

/** Steps between the least and the greatest wavelength: more than any spectrum has, less than would fill the memory. */
const MOST_STEPS = 500;

/**
 * A spectrum out of single readings. The step is the least distance of two wavelengths; where one is missing, or was left
 * empty (null), there is a gap, which the check of the spectrum refuses. Empty ends are left off: files have one set of
 * columns for instruments of different reach.
 * @param readings nm and reflectance, in any order
 * @returns null when nothing was read
 * @throws Problem `spectrum-unreadable`
 */
export function gatherSpectrum(
  readings: readonly (readonly [nm: number, value: number | null])[],
): GivenColour['spectrum'] | null {
  const sorted = [...readings].sort(([a], [b]) => a - b);
  const first = sorted.findIndex(([, value]) => value !== null);
  if (first < 0) return null;
  const kept = sorted.slice(first, sorted.findLastIndex(([, value]) => value !== null) + 1);
  const steps = kept.slice(1).map(([nm], i) => nm - kept[i]![0]);
  const stepNm = steps.length > 0 ? Math.min(...steps) : 1;
  const startNm = kept[0]![0];
  const count = (kept.at(-1)![0] - startNm) / stepNm + 1;
  if (!(stepNm > 0) || count > MOST_STEPS || kept.some(([nm]) => !Number.isInteger((nm - startNm) / stepNm))) {
    throw new Problem('spectrum-unreadable', {
      detail: COLOUR_PROBLEMS['spectrum-unreadable'].unevenSteps,
      expected: 'even steps of 5, 10 or 20 nm',
      received: steps.slice(0, 10),
      where: '/colour/spectrum',
    });
  }
  const values: (number | null)[] = Array(count).fill(null);
  for (const [nm, value] of kept) values[(nm - startNm) / stepNm] = value;
  return { startNm, stepNm, values };
}
