import type { Spectrum } from '../../server/core/finish/finish.ts';
import type { createRandom } from './random.ts';

type Random = ReturnType<typeof createRandom>;
/** Reflectance 0–1 by wavelength in nm. */
export type Surface = (nm: number) => number;

const SHAPES = ['edge', 'band', 'notch', 'bands'] as const;

/**
 * An invented surface, as smooth as paints, pigments and dyes: an edge (sigmoid), like yellows, oranges and reds; a
 * band (Gaussian), like greens and blues; a missing band, like purples and magentas; or two bands. It contains nobody's
 * measurement, and it has a value at every wavelength, so the colour for each observer is exact except for the CIE's
 * own tables. Widths and levels (edges of 8–40 nm, bands with a deviation of 25–80 nm, 2–90 %) are those of colourants
 * in common practice, from memory; steeper ones would be filters.
 */
export function makeSurface(random: Random): Surface {
  const between = (low: number, high: number) => low + random.next() * (high - low);
  const least = between(0.02, 0.2);
  const most = between(least + 0.03, 0.9);
  const shape = makeShape(random.pick(SHAPES), between);
  return (nm) => least + (most - least) * shape(nm);
}

function makeShape(kind: (typeof SHAPES)[number], between: (low: number, high: number) => number): Surface {
  switch (kind) {
    case 'edge': {
      const [at, width] = [between(470, 620), between(8, 40)];
      return (nm) => 1 / (1 + Math.exp((at - nm) / width));
    }
    case 'band':
      return makeBand(between(420, 620), between(25, 80));
    case 'notch': {
      const taken = makeBand(between(480, 620), between(25, 80));
      return (nm) => 1 - taken(nm);
    }
    case 'bands': {
      const [first, second] = [
        makeBand(between(420, 500), between(25, 60)),
        makeBand(between(560, 680), between(25, 80)),
      ];
      const share = between(0, 1);
      return (nm) => Math.max(share * first(nm), second(nm));
    }
  }
}

function makeBand(centreNm: number, deviationNm: number): Surface {
  return (nm) => Math.exp(-0.5 * ((nm - centreNm) / deviationNm) ** 2);
}

/** Samples a surface like an instrument, both ends included. */
export function sampleSurface(surface: Surface, startNm = 380, stepNm = 10, endNm = 730): Spectrum {
  const count = Math.floor((endNm - startNm) / stepNm) + 1;
  return { startNm, stepNm, values: Array.from({ length: count }, (_, i) => surface(startNm + stepNm * i)) };
}
