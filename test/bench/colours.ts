import Color from 'colorjs.io';
import { estimateTwoDegree } from '../../server/core/colour/estimate-two-degree.ts';
import { deltaE2000, type Lab, labToLinear, linearToLab, xyzToLab } from '../../server/core/colour/lab.ts';
import { specifyColour } from '../../server/core/colour/specify-colour.ts';
import { integrateSpectrum } from '../../server/core/colour/spectrum.ts';
import { makeColourIndex } from '../../server/core/finish/find-finishes.ts';
import type { ColourSpecification } from '../../server/core/finish/finish.ts';
import { createRandom } from '../support/random.ts';
import { makeSurface, sampleSurface } from '../support/surface-spectra.ts';
import { alternate, row, type Times } from './measure.ts';

const RUNS = 5;
const SEED = 12;
const COUNT = 20_000;
const SPECTRA = 5_000;
const ESTIMATES = 1_000;
const LIBRARY = 50_000;
const SURFACE = { metal: false, ior: 1.5 } as const;

/** Conversions per second on one core beside the colour library's own calls, and the nearest colour of many. */
export async function benchColours(): Promise<void> {
  const random = createRandom(SEED);
  const labs = Array.from({ length: COUNT }, (): Lab => linearToLab([random.next(), random.next(), random.next()]));
  console.log(`\nColours, ${COUNT} random ones inside sRGB, one core`);
  await benchConversions(labs);
  await benchSpecifications(labs);
  await benchNearest(random);
}

async function benchConversions(labs: readonly Lab[]): Promise<void> {
  const rgbs = labs.map((lab) => labToLinear(lab, 'D65'));
  const times = await alternate(RUNS, {
    library: async () => labs.map((lab) => new Color('lab-d65', [...lab]).to('srgb-linear').coords),
    toLinear: async () => labs.map((lab) => labToLinear(lab, 'D65')),
    fromLinear: async () => rgbs.map((rgb) => linearToLab(rgb)),
    libraryDistance: async () => {
      const colours = labs.map((lab) => new Color('lab-d65', [...lab]));
      return colours.map((colour, i) => colour.deltaE(colours[(i + 1) % colours.length]!, '2000'));
    },
    distance: async () => labs.map((lab, i) => deltaE2000(lab, labs[(i + 1) % labs.length]!)),
  });
  rate('colorjs.io, new Color(Lab).to(linear sRGB)', COUNT, times.library);
  rate('Lab to linear sRGB', COUNT, times.toLinear, 'aim ≥ 100 000 a second');
  ratio(times.toLinear, times.library);
  rate('linear sRGB to Lab', COUNT, times.fromLinear, 'aim ≥ 100 000 a second');
  rate('colorjs.io, new Color(Lab) and deltaE 2000', COUNT, times.libraryDistance);
  rate('ΔE00', COUNT, times.distance);
  ratio(times.distance, times.libraryDistance);
}

async function benchSpecifications(labs: readonly Lab[]): Promise<void> {
  const random = createRandom(SEED);
  const spectra = Array.from({ length: SPECTRA }, () => sampleSurface(makeSurface(random)));
  const tenDegree = spectra
    .slice(0, ESTIMATES)
    .map((spectrum) => xyzToLab(integrateSpectrum(spectrum, 'D65', '10deg'), 'D65', '10deg'));
  const specify = (colours: readonly ColourSpecification[]) => colours.map((colour) => specifyColour(colour, SURFACE));
  const asLab = labs.slice(0, SPECTRA).map((lab) => ({ lab, illuminant: 'D65', observer: '2deg' }) as const);
  const asSpectra = spectra.map((spectrum) => ({ spectrum }));
  const included = asSpectra.map((colour) => ({ ...colour, geometry: 'di:8' }) as const);
  const times = await alternate(RUNS, {
    library: async () => labs.slice(0, SPECTRA).map((lab) => new Color('lab-d65', [...lab]).to('srgb-linear').coords),
    lab: async () => specify(asLab),
    spectrum: async () => specify(asSpectra),
    included: async () => specify(included),
    estimate: async () => tenDegree.map((lab) => estimateTwoDegree(lab, 'D65')),
  });
  rate('a specification in Lab, D65/2°, whole', SPECTRA, times.lab);
  ratio(times.lab, times.library, SPECTRA, SPECTRA, 'colorjs.io’s conversion alone');
  rate('a specification as a spectrum of 36 readings, whole', SPECTRA, times.spectrum);
  ratio(times.spectrum, times.library, SPECTRA, SPECTRA, 'colorjs.io’s conversion alone');
  rate('  with its reflection taken out', SPECTRA, times.included);
  rate('an estimate of D65/2° from D65/10°', ESTIMATES, times.estimate);
}

/** The nearest five of many, by the index and by comparing all. */
async function benchNearest(random: ReturnType<typeof createRandom>): Promise<void> {
  const next = (): Lab => linearToLab([random.next(), random.next(), random.next()]);
  const items = Array.from({ length: LIBRARY }, next);
  const asked = Array.from({ length: 10 }, next);
  const index = makeColourIndex(items, (lab) => lab);
  const scan = (lab: Lab) =>
    items
      .map((item) => ({ item, deltaE: deltaE2000(lab, item) }))
      .sort((a, b) => a.deltaE - b.deltaE)
      .slice(0, 5);
  const times = await alternate(RUNS, {
    build: async () => makeColourIndex(items, (lab) => lab),
    one: async () => asked.map((lab) => index.listNearest(lab, 1)),
    index: async () => asked.map((lab) => index.listNearest(lab, 5)),
    scan: async () => scan(asked[0]!),
  });
  const each = times.index.median / asked.length;
  const same = asked.every((lab) => index.listNearest(lab, 5).every(({ item }, i) => scan(lab)[i]!.item === item));
  row(`nearest of ${LIBRARY}, by the index`, `${(times.one.median / asked.length).toFixed(1)} ms`, 'aim < 20 ms');
  row('  nearest five', `${each.toFixed(1)} ms`);
  row('  nearest five, comparing all', `${times.scan.median.toFixed(0)} ms`);
  row('  index ÷ comparing all', (each / times.scan.median).toFixed(3));
  row('  same colours found', same ? 'yes' : 'NO');
  row('  making the index, once for a library', `${times.build.median.toFixed(0)} ms`);
}

function rate(title: string, n: number, { median }: Times, aim = ''): void {
  row(
    title,
    `${Math.round((n / median) * 1000)
      .toLocaleString('en')
      .replaceAll(',', ' ')} a second`,
    aim,
  );
}

function ratio(ours: Times, theirs: Times, n = COUNT, of = COUNT, against = 'colorjs.io'): void {
  row(`  time ÷ ${against}`, (ours.median / n / (theirs.median / of)).toFixed(2));
}
