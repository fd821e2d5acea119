import type { Spectrum } from '../finish/finish.ts';
import { Problem } from '../problems.ts';
import { COLOUR_PROBLEMS } from '../texts/problems/colour.ts';

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
      detail: COLOUR_PROBLEMS['colour-incomplete'].missingReading(startNm + i * stepNm),
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
      detail: COLOUR_PROBLEMS['spectrum-unreadable'].step(stepNm),
      expected: SPECTRUM_STEPS,
      received: stepNm,
      where: `${where}/stepNm`,
    });
  }
  if (!Number.isFinite(startNm)) {
    throw new Problem('spectrum-unreadable', {
      detail: COLOUR_PROBLEMS['spectrum-unreadable'].start(startNm),
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
          ? COLOUR_PROBLEMS['colour-incomplete'].noReadings(from, until)
          : COLOUR_PROBLEMS['colour-incomplete'].tooFewReadings(
              { startNm, endNm, values: values.length },
              from,
              until,
              needed,
              stepNm,
            ),
      expected: { fromNm: from, untilNm: until, values: needed },
      received: { fromNm: startNm, untilNm: endNm, values: values.length },
      where: startNm > from ? `${where}/startNm` : `${where}/values`,
    });
  }
  const [lowest, highest] = SPECTRUM_LIMITS;
  if (startNm < lowest || endNm > highest) {
    throw new Problem('spectrum-unreadable', {
      detail: COLOUR_PROBLEMS['spectrum-unreadable'].range(startNm, endNm, lowest, highest),
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
    refuse(highest, COLOUR_PROBLEMS['spectrum-unreadable'].percent(at(highest)), '0–1');
  }
  if (readings[highest]! > FLUORESCENT) {
    refuse(highest, COLOUR_PROBLEMS['spectrum-unreadable'].fluorescent(at(highest)), `at most ${FLUORESCENT}`);
  }
  if (readings[lowest]! < NOISE) {
    refuse(lowest, COLOUR_PROBLEMS['spectrum-unreadable'].negative(at(lowest)), `at least ${NOISE}`);
  }
}
