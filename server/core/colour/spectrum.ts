import type { Illuminant, Observer, Spectrum } from '../finish/finish.ts';
import { Problem } from '../problems.ts';
import { COLOUR_PROBLEMS } from '../texts/problems/finish.ts';
import { WHITE_POINTS, type Xyz } from './lab.ts';

/** Wavelength steps that instruments write, nm. */
const SPECTRUM_STEPS = [5, 10, 20] as const;
/** Every spectrum covers these wavelengths, nm; outside them the eye sees nearly nothing. */
const SPECTRUM_COVERS = [400, 700] as const;
/** No spectrum goes beyond these wavelengths, nm. */
const SPECTRUM_LIMITS = [360, 780] as const;

/** Values above this are in percent. Between `FLUORESCENT` and this, the surface emits light of another wavelength. */
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
 * Makes sure that a spectrum is complete: reflectance 0–1 every 5, 10 or 20 nm, from 400 nm or less to 700 nm or more.
 * Values stay as given, including the noise of a black below 0.
 * @param where JSON pointer of the spectrum in the request
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
  // No surface reflects more than it receives at every wavelength. A very dark one in percent can look like that.
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

/**
 * Converts reflectance to XYZ under an illuminant and observer; the perfect white has exactly the XYZ of
 * `WHITE_POINTS`.
 *
 * It sums reflectance × power × matching function every 5 nm from 380 to 780 nm. Values between the readings come from
 * a cubic through the four nearest (Lagrange). Beyond the ends the last reading continues, as in ASTM E308. Readings
 * outside 380–780 nm are ignored. Each of X, Y and Z is divided by its own sum for the perfect white and multiplied by
 * the named white. This keeps neutral colours neutral and costs at most 0.03 % against one divisor for all three.
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

/** Wavelength of the first row of every table, in nm. */
const TABLE_START_NM = 380;
/** Distance of the rows of every table, in nm. */
const TABLE_STEP_NM = 5;

/**
 * Colour matching functions at 5 nm from 380 to 780 nm, the range CIE 15 allows for object colours.
 * Source: CIE 018:2019, CIE 1931 (2°) and CIE 1964 (10°) standard observers.
 */
export const MATCHING_FUNCTIONS: Readonly<
  Record<Observer, { readonly x: readonly number[]; readonly y: readonly number[]; readonly z: readonly number[] }>
> = {
  '2deg': {
    x: [
      0.001368, 0.002236, 0.004243, 0.00765, 0.01431, 0.02319, 0.04351, 0.07763, 0.13438, 0.21477, 0.2839, 0.3285,
      0.34828, 0.34806, 0.3362, 0.3187, 0.2908, 0.2511, 0.19536, 0.1421, 0.09564, 0.05795, 0.03201, 0.0147, 0.0049,
      0.0024, 0.0093, 0.0291, 0.06327, 0.1096, 0.1655, 0.22575, 0.2904, 0.3597, 0.43345, 0.51205, 0.5945, 0.6784,
      0.7621, 0.8425, 0.9163, 0.9786, 1.0263, 1.0567, 1.0622, 1.0456, 1.0026, 0.9384, 0.85445, 0.7514, 0.6424, 0.5419,
      0.4479, 0.3608, 0.2835, 0.2187, 0.1649, 0.1212, 0.0874, 0.0636, 0.04677, 0.0329, 0.0227, 0.01584, 0.011359,
      0.008111, 0.00579, 0.004109, 0.002899, 0.002049, 0.00144, 0.001, 0.00069, 0.000476, 0.000332, 0.000235, 0.000166,
      0.000117, 0.000083, 0.000059, 0.000042,
    ],
    y: [
      0.000039, 0.000064, 0.00012, 0.000217, 0.000396, 0.00064, 0.00121, 0.00218, 0.004, 0.0073, 0.0116, 0.01684, 0.023,
      0.0298, 0.038, 0.048, 0.06, 0.0739, 0.09098, 0.1126, 0.13902, 0.1693, 0.20802, 0.2586, 0.323, 0.4073, 0.503,
      0.6082, 0.71, 0.7932, 0.862, 0.91485, 0.954, 0.9803, 0.99495, 1, 0.995, 0.9786, 0.952, 0.9154, 0.87, 0.8163,
      0.757, 0.6949, 0.631, 0.5668, 0.503, 0.4412, 0.381, 0.321, 0.265, 0.217, 0.175, 0.1382, 0.107, 0.0816, 0.061,
      0.04458, 0.032, 0.0232, 0.017, 0.01192, 0.00821, 0.005723, 0.004102, 0.002929, 0.002091, 0.001484, 0.001047,
      0.00074, 0.00052, 0.000361, 0.000249, 0.000172, 0.00012, 0.000085, 0.00006, 0.000042, 0.00003, 0.000021, 0.000015,
    ],
    z: [
      0.00645, 0.01055, 0.02005, 0.03621, 0.06785, 0.1102, 0.2074, 0.3713, 0.6456, 1.03905, 1.3856, 1.62296, 1.74706,
      1.7826, 1.77211, 1.7441, 1.6692, 1.5281, 1.28764, 1.0419, 0.81295, 0.6162, 0.46518, 0.3533, 0.272, 0.2123, 0.1582,
      0.1117, 0.07825, 0.05725, 0.04216, 0.02984, 0.0203, 0.0134, 0.00875, 0.00575, 0.0039, 0.00275, 0.0021, 0.0018,
      0.00165, 0.0014, 0.0011, 0.001, 0.0008, 0.0006, 0.00034, 0.00024, 0.00019, 0.0001, 0.00005, 0.00003, 0.00002,
      0.00001, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0,
    ],
  },
  '10deg': {
    x: [
      0.000159952, 0.00066244, 0.0023616, 0.0072423, 0.0191097, 0.0434, 0.084736, 0.140638, 0.204492, 0.264737,
      0.314679, 0.357719, 0.383734, 0.386726, 0.370702, 0.342957, 0.302273, 0.254085, 0.195618, 0.132349, 0.080507,
      0.041072, 0.016172, 0.005132, 0.003816, 0.015444, 0.037465, 0.071358, 0.117749, 0.172953, 0.236491, 0.304213,
      0.376772, 0.451584, 0.529826, 0.616053, 0.705224, 0.793832, 0.878655, 0.951162, 1.01416, 1.0743, 1.11852, 1.1343,
      1.12399, 1.0891, 1.03048, 0.95074, 0.856297, 0.75493, 0.647467, 0.53511, 0.431567, 0.34369, 0.268329, 0.2043,
      0.152568, 0.11221, 0.0812606, 0.05793, 0.0408508, 0.028623, 0.0199413, 0.013842, 0.00957688, 0.0066052,
      0.00455263, 0.0031447, 0.00217496, 0.0015057, 0.00104476, 0.00072745, 0.000508258, 0.00035638, 0.000250969,
      0.00017773, 0.00012639, 0.000090151, 0.0000645258, 0.000046339, 0.0000334117,
    ],
    y: [
      0.000017364, 0.00007156, 0.0002534, 0.0007685, 0.0020044, 0.004509, 0.008756, 0.014456, 0.021391, 0.029497,
      0.038676, 0.049602, 0.062077, 0.074704, 0.089456, 0.106256, 0.128201, 0.152761, 0.18519, 0.21994, 0.253589,
      0.297665, 0.339133, 0.395379, 0.460777, 0.53136, 0.606741, 0.68566, 0.761757, 0.82333, 0.875211, 0.92381,
      0.961988, 0.9822, 0.991761, 0.99911, 0.99734, 0.98238, 0.955552, 0.915175, 0.868934, 0.825623, 0.777405, 0.720353,
      0.658341, 0.593878, 0.527963, 0.461834, 0.398057, 0.339554, 0.283493, 0.228254, 0.179828, 0.140211, 0.107633,
      0.081187, 0.060281, 0.044096, 0.0318004, 0.0226017, 0.0159051, 0.0111303, 0.0077488, 0.0053751, 0.00371774,
      0.00256456, 0.00176847, 0.00122239, 0.00084619, 0.00058644, 0.00040741, 0.000284041, 0.00019873, 0.00013955,
      0.000098428, 0.000069819, 0.000049737, 0.0000355405, 0.000025486, 0.0000183384, 0.000013249,
    ],
    z: [
      0.000704776, 0.0029278, 0.0104822, 0.032344, 0.0860109, 0.19712, 0.389366, 0.65676, 0.972542, 1.2825, 1.55348,
      1.7985, 1.96728, 2.0273, 1.9948, 1.9007, 1.74537, 1.5549, 1.31756, 1.0302, 0.772125, 0.57006, 0.415254, 0.302356,
      0.218502, 0.159249, 0.112044, 0.082248, 0.060709, 0.04305, 0.030451, 0.020584, 0.013676, 0.007918, 0.003988,
      0.001091, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0,
      0, 0, 0, 0, 0, 0, 0, 0, 0, 0,
    ],
  },
};

/**
 * Relative spectral power at the same wavelengths, 100 at 560 nm. Source: CIE 15:2018 tables of D50 and CIE standard
 * illuminant D65 (ISO 11664-2).
 */
export const ILLUMINANT_POWER: Readonly<Record<Illuminant, readonly number[]>> = {
  D65: [
    49.9755, 52.3118, 54.6482, 68.7015, 82.7549, 87.1204, 91.486, 92.4589, 93.4318, 90.057, 86.6823, 95.7736, 104.865,
    110.936, 117.008, 117.41, 117.812, 116.336, 114.861, 115.392, 115.923, 112.367, 108.811, 109.082, 109.354, 108.578,
    107.802, 106.296, 104.79, 106.239, 107.689, 106.047, 104.405, 104.225, 104.046, 102.023, 100, 98.1671, 96.3342,
    96.0611, 95.788, 92.2368, 88.6856, 89.3459, 90.0062, 89.8026, 89.5991, 88.6489, 87.6987, 85.4936, 83.2886, 83.4939,
    83.6992, 81.863, 80.0268, 80.1207, 80.2146, 81.2462, 82.2778, 80.281, 78.2842, 74.0027, 69.7213, 70.6652, 71.6091,
    72.979, 74.349, 67.9765, 61.604, 65.7448, 69.8856, 72.4863, 75.087, 69.3398, 63.5927, 55.0054, 46.4182, 56.6118,
    66.8054, 65.0941, 63.3828,
  ],
  D50: [
    24.488, 27.179, 29.871, 39.589, 49.308, 52.91, 56.513, 58.273, 60.034, 58.926, 57.818, 66.321, 74.825, 81.036,
    87.247, 88.93, 90.612, 90.99, 91.368, 93.238, 95.109, 93.536, 91.963, 93.843, 95.724, 96.169, 96.613, 96.871,
    97.129, 99.614, 102.099, 101.427, 100.755, 101.536, 102.317, 101.159, 100, 98.868, 97.735, 98.327, 98.918, 96.208,
    93.499, 95.593, 97.688, 98.478, 99.269, 99.155, 99.042, 97.382, 95.722, 97.29, 98.857, 97.262, 95.667, 96.929,
    98.19, 100.597, 103.003, 101.068, 99.133, 93.257, 87.381, 89.492, 91.604, 92.246, 92.889, 84.872, 76.854, 81.683,
    86.511, 89.546, 92.58, 85.405, 78.23, 67.961, 57.692, 70.307, 82.923, 80.599, 78.274,
  ],
};
