import type { Spectrum } from '../finish/finish.ts';
import { Problem } from '../problems.ts';

/** Steps that instruments write, in nm. */
export const SPECTRUM_STEPS = [5, 10, 20] as const;
/** Every spectrum covers these wavelengths, in nm; outside them the eye sees nearly nothing. */
export const SPECTRUM_COVERS = [400, 700] as const;
/** No spectrum goes further than these, in nm. */
export const SPECTRUM_LIMITS = [360, 780] as const;

/** Reflectance no surface has, percent apart; between this and `FLUORESCENT` it gives back light of another wavelength. */
const PERCENT = 2;
const FLUORESCENT = 1.5;
/** Noise of an instrument on a black surface; below this a value is a mistake. */
const NOISE = -0.01;

/** A spectrum as it arrives. */
export interface GivenSpectrum {
  readonly startNm: number;
  readonly stepNm: number;
  readonly values: readonly (number | null)[];
}

/**
 * Makes sure that a spectrum is whole: reflectance 0–1 every 5, 10 or 20 nm, from 400 nm or less to 700 nm or more.
 * Values are kept as given, the noise of a black below 0 too.
 * @param where JSON pointer of the spectrum in what was sent
 * @throws Problem `colour-incomplete` when readings are missing, `spectrum-unreadable` when they cannot be reflectance
 */
export function checkSpectrum({ startNm, stepNm, values }: GivenSpectrum, where: string): Spectrum {
  checkRange({ startNm, stepNm, values }, where);
  const readings = values.map((value, i) => {
    if (typeof value === 'number' && Number.isFinite(value)) return value;
    throw new Problem('colour-incomplete', {
      detail: `The spectrum has no reading at ${startNm + i * stepNm} nm. Every step needs one; measure again or ask for the full file.`,
      expected: 'a number from 0 to 1',
      received: value === null ? null : String(value),
      where: `${where}/values/${i}`,
    });
  });
  checkReflectance(readings, { startNm, stepNm }, where);
  return { startNm, stepNm, values: readings };
}

function checkRange({ startNm, stepNm, values }: GivenSpectrum, where: string): void {
  if (!SPECTRUM_STEPS.some((step) => step === stepNm)) {
    throw new Problem('spectrum-unreadable', {
      detail: `The spectrum goes in steps of ${stepNm} nm. Export it every 5, 10 or 20 nm.`,
      expected: SPECTRUM_STEPS,
      received: stepNm,
      where: `${where}/stepNm`,
    });
  }
  if (!Number.isFinite(startNm)) {
    throw new Problem('spectrum-unreadable', {
      detail: `The spectrum starts at ${startNm} nm. Give the wavelength of its first value, such as 380 or 400.`,
      expected: 'a wavelength in nm',
      received: String(startNm),
      where: `${where}/startNm`,
    });
  }
  const [from, until] = SPECTRUM_COVERS;
  const endNm = startNm + (values.length - 1) * stepNm;
  if (startNm > from || endNm < until) {
    const needed = Math.ceil((until - Math.min(startNm, from)) / stepNm) + 1;
    throw new Problem('colour-incomplete', {
      detail:
        values.length === 0
          ? `The spectrum has no values. It covers ${from} to ${until} nm at least.`
          : `The spectrum goes from ${startNm} to ${endNm} nm with ${values.length} values. It covers ${from} to ${until} nm at least, which takes ${needed} values every ${stepNm} nm.`,
      expected: { fromNm: from, untilNm: until, values: needed },
      received: { fromNm: startNm, untilNm: endNm, values: values.length },
      where: startNm > from ? `${where}/startNm` : `${where}/values`,
    });
  }
  const [lowest, highest] = SPECTRUM_LIMITS;
  if (startNm < lowest || endNm > highest) {
    throw new Problem('spectrum-unreadable', {
      detail: `The spectrum goes from ${startNm} to ${endNm} nm. Cut it to ${lowest}–${highest} nm, or see whether start, step and values belong together.`,
      expected: SPECTRUM_LIMITS,
      received: [startNm, endNm],
      where,
    });
  }
}

function checkReflectance(
  readings: readonly number[],
  { startNm, stepNm }: { readonly startNm: number; readonly stepNm: number },
  where: string,
): void {
  const refuse = (at: number, detail: string, expected: string) => {
    throw new Problem('spectrum-unreadable', {
      detail,
      expected,
      received: readings[at],
      where: `${where}/values/${at}`,
    });
  };
  const highest = readings.indexOf(Math.max(...readings));
  const lowest = readings.indexOf(Math.min(...readings));
  const at = (index: number) => `${readings[index]} at ${startNm + index * stepNm} nm`;
  // no surface gives back more than it gets everywhere: a very dark one in percent does look like that
  if (readings[highest]! > PERCENT || readings[lowest]! > 1) {
    refuse(
      highest,
      `The spectrum reads ${at(highest)}; is it in percent? Reflectance runs from 0 to 1: divide by 100.`,
      '0–1',
    );
  }
  if (readings[highest]! > FLUORESCENT) {
    refuse(
      highest,
      `The spectrum reads ${at(highest)}. A surface that gives back more light than it gets is fluorescent, which one reflectance cannot say. Give its Lab with illuminant and observer.`,
      `at most ${FLUORESCENT}`,
    );
  }
  if (readings[lowest]! < NOISE) {
    refuse(
      lowest,
      `The spectrum reads ${at(lowest)}. Reflectance is not negative; have the instrument calibrated on its black trap and measure again.`,
      `at least ${NOISE}`,
    );
  }
}
