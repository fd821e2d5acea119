import type { Spectrum } from '../../server/core/finish/finish.ts';
import type { createRandom } from './random.ts';

type Random = ReturnType<typeof createRandom>;

const START_NM = 380;
const STEP_NM = 10;
const COUNT = 36;

/**
 * An invented reflectance between `least` and `most`, smooth as those of paints, pigments and dyes are: an edge (sigmoid),
 * as yellows, oranges and reds have it; a band (Gaussian), as greens and blues; a band taken out, as purples and magentas;
 * or two bands. Edges 8–40 nm wide and bands of 25–80 nm are as steep and as narrow as the absorption of pigments gets in
 * common practice (from memory); nobody's measurement is in it.
 */
export function makeSurfaceSpectrum(random: Random): Spectrum {
  const between = (low: number, high: number) => low + random.next() * (high - low);
  const low = between(0.02, 0.2);
  const high = between(low + 0.03, 0.9);
  const band = (centre: number, width: number) => (nm: number) => Math.exp(-0.5 * ((nm - centre) / width) ** 2);
  const shape = random.pick(['edge', 'band', 'notch', 'bands'] as const);
  const shapes: Record<typeof shape, () => (nm: number) => number> = {
    edge: () => {
      const [at, width] = [between(470, 620), between(8, 40)];
      return (nm) => 1 / (1 + Math.exp((at - nm) / width));
    },
    band: () => band(between(420, 620), between(25, 80)),
    notch: () => {
      const taken = band(between(480, 620), between(25, 80));
      return (nm) => 1 - taken(nm);
    },
    bands: () => {
      const [first, second, share] = [
        band(between(420, 500), between(25, 60)),
        band(between(560, 680), between(25, 80)),
        random.next(),
      ];
      return (nm) => Math.max(share * first(nm), second(nm));
    },
  };
  const at = shapes[shape]();
  const values = Array.from({ length: COUNT }, (_, i) => low + (high - low) * at(START_NM + STEP_NM * i));
  return { startNm: START_NM, stepNm: STEP_NM, values };
}
