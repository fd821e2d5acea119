import { isHex } from '../colour/srgb.ts';
import { Problem } from '../problems.ts';
import type { ColourSpecification } from './finish.ts';

/** A colour as it arrives, before it is known to be a full specification. */
export interface GivenColour {
  readonly hex?: string;
  readonly lab?: readonly number[];
  readonly illuminant?: string;
  readonly observer?: string;
  readonly geometry?: string;
  readonly spectrum?: unknown;
}

/**
 * Makes sure that a colour says all it must: sRGB hex, or Lab with its illuminant and observer.
 * @throws Problem `colour-incomplete`, `colour-unsupported`
 */
export function readColour(given: GivenColour, where = '/colour'): ColourSpecification {
  if (given.spectrum !== undefined) {
    throw new Problem('colour-unsupported', {
      detail: 'Spectra are not taken yet. Give Lab under D50 or D65 with the 2° observer, or an sRGB hex.',
      where: `${where}/spectrum`,
    });
  }
  if ((given.hex === undefined) === (given.lab === undefined)) {
    throw new Problem('colour-incomplete', {
      detail: 'A colour is given in one way: either hex, or lab with illuminant and observer.',
      expected: ['hex', 'lab'],
      received: Object.keys(given),
      where,
    });
  }
  if (given.hex !== undefined) {
    if (isHex(given.hex)) return { hex: given.hex.toLowerCase() };
    throw new Problem('colour-incomplete', {
      detail: `“${given.hex.slice(0, 20)}” is no sRGB hex. Write # and six figures or letters from a to f, such as #2f5d73.`,
      expected: '#rrggbb',
      received: given.hex.slice(0, 20),
      where: `${where}/hex`,
    });
  }
  return readLab(given, where);
}

const RANGES = [
  ['L*', 0, 100],
  ['a*', -200, 200],
  ['b*', -200, 200],
] as const;

function readLab({ lab, illuminant, observer, geometry }: GivenColour, where: string): ColourSpecification {
  if (illuminant === undefined || observer === undefined) {
    throw new Problem('colour-incomplete', {
      detail:
        'Lab says nothing without the illuminant and the observer it was measured for: the same figures are another colour under another light. Add illuminant (D50 or D65) and observer (2deg).',
      expected: ['illuminant', 'observer'],
      where,
    });
  }
  if ((illuminant !== 'D50' && illuminant !== 'D65') || observer !== '2deg') {
    throw new Problem('colour-unsupported', {
      detail: `Lab under ${illuminant} with the ${observer} observer is not taken yet; without the spectrum it cannot be turned into D65/2° exactly. Ask the supplier for D65/2deg or D50/2deg, or give an sRGB hex.`,
      expected: ['D50/2deg', 'D65/2deg'],
      received: `${illuminant}/${observer}`,
      where,
    });
  }
  RANGES.forEach(([name, low, high], i) => {
    const value = lab![i];
    if (value !== undefined && Number.isFinite(value) && value >= low && value <= high) return;
    throw new Problem('colour-incomplete', {
      detail: `${name} is ${value}; it lies between ${low} and ${high}.`,
      expected: [low, high],
      received: value,
      where: `${where}/lab/${i}`,
    });
  });
  const [l, a, b] = lab as [number, number, number];
  return { lab: [l, a, b], illuminant, observer, ...(geometry !== undefined && { geometry: geometry as 'di:8' }) };
}
