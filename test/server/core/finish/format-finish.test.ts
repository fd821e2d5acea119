import { describe, expect, it } from 'vitest';
import type { ColourSpecification } from '../../../../server/core/finish/finish.ts';
import {
  formatColour,
  formatConverted,
  listSpecified,
  SPECIFIED_COLUMNS,
} from '../../../../server/core/finish/format-finish.ts';
import { resolveFinish } from '../../../../server/core/finish/resolve-finish.ts';
import { makeFinish } from '../../../support/make-finish.ts';

const SPECTRUM = { startNm: 400, stepNm: 10, values: Array<number>(31).fill(0.5) };

it.each<[ColourSpecification, string]>([
  [{ hex: '#2f5d73' }, '#2f5d73'],
  [
    { lab: [38.104, -8.2, -0.00001], illuminant: 'D65', observer: '10deg', geometry: 'di:8' },
    'Lab 38.104 −8.2 0, D65/10°, di:8',
  ],
  [{ xyz: [1, 2.345, 3], illuminant: 'D50', observer: '2deg' }, 'XYZ 1 2.345 3, D50/2°'],
  [{ spectrum: SPECTRUM, geometry: 'de:8' }, 'spectrum 400–700 nm, every 10 nm, de:8'],
])('formats %j in one line, with the given figures', (colour, words) => {
  expect(formatColour(colour)).toBe(words);
});

describe('is followed by its conversion', () => {
  const convert = (colour: ColourSpecification) =>
    formatConverted(colour, resolveFinish(makeFinish('A', { colour }), null));

  it.each<[string, ColourSpecification, string | null]>([
    // IEC 61966-2-1 red under D65 for 2°: L* 53.24, a* 80.09, b* 67.20.
    ['sRGB', { hex: '#ff0000' }, 'Lab 53.2 80.1 67.2, D65/2°'],
    ['Lab stated in the target form', { lab: [38.1, -8.2, -15.4], illuminant: 'D65', observer: '2deg' }, null],
    [
      'the same, read without the reflection',
      { lab: [50, 1, 1], illuminant: 'D65', observer: '2deg', geometry: 'de:8' },
      null,
    ],
    // A flat spectrum of 0.5 is grey under any light: L* = 116 · 0.5^(1/3) − 16 (CIE 15).
    ['a spectrum', { spectrum: SPECTRUM, geometry: 'de:8' }, 'Lab 76.1 0.0 0.0, D65/2°'],
  ])('%s', (_, colour, words) => {
    expect(convert(colour)).toBe(words);
  });

  it('says if the surface reflection was removed', () => {
    const read = { lab: [50, 0, 0], illuminant: 'D65', observer: '2deg', geometry: 'di:8' } as const;
    const [, lightness] = /^Lab ([\d.]+) .*, D65\/2°, de:8$/.exec(convert(read)!)!;
    expect(Number(lightness)).toBeLessThan(50);
  });
});

it.each<[ColourSpecification, (string | null)[]]>([
  [{ hex: '#2f5d73' }, ['hex', '#2f5d73', null, null, null]],
  [
    { lab: [38.1, -8.2, -15.4], illuminant: 'D65', observer: '10deg', geometry: 'di:8' },
    ['lab', '38.1 -8.2 -15.4', 'D65', '10deg', 'di:8'],
  ],
  [{ xyz: [1, 2.345, 3], illuminant: 'D50', observer: '2deg' }, ['xyz', '1 2.345 3', 'D50', '2deg', null]],
  [{ spectrum: SPECTRUM }, ['spectrum', '400-700 nm every 10 nm', null, null, null]],
])('is in a table as it was given (%#)', (colour, cells) => {
  expect(listSpecified(colour)).toEqual(cells);
  expect(cells).toHaveLength(SPECIFIED_COLUMNS.length);
});
