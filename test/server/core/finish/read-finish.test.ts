import { describe, expect, it } from 'vitest';
import { type GivenColour, readColour } from '../../../../server/core/finish/read-finish.ts';
import type { ProblemCode } from '../../../../server/core/problems.ts';
import { expectRefusal } from '../../../support/refusal.ts';

describe('a colour', () => {
  it('is an sRGB hex, stored in lower case', () => {
    expect(readColour({ hex: '#2F5D73' })).toEqual({ hex: '#2f5d73' });
  });

  it.each([
    ['D50', '2deg'],
    ['D65', '2deg'],
    ['D65', '10deg'],
  ])('is Lab or XYZ under %s for the %s observer, kept as measured with its geometry', (illuminant, observer) => {
    const lab = { lab: [38.1, -8.2, -15.4], illuminant, observer, geometry: 'de:8' };
    expect(readColour(lab)).toEqual(lab);
    const xyz = { xyz: [9.1, 10.2, 17.4], illuminant, observer, geometry: 'di:8' };
    expect(readColour(xyz)).toEqual(xyz);
  });

  it('is a spectrum of reflectance, 0–1, that covers 400 to 700 nm', () => {
    const given = { spectrum: { startNm: 400, stepNm: 10, values: Array(31).fill(0.4) }, geometry: '45:0' };
    expect(readColour(given)).toEqual(given);
  });

  // Lab without illuminant and observer is not a specification. A 10° Lab becomes 2° only through a spectrum (common
  // practice of colour measurement, from memory).
  it.each<[string, GivenColour, ProblemCode]>([
    ['nothing', {}, 'colour-incomplete'],
    [
      'both ways at once',
      { hex: '#2f5d73', lab: [50, 0, 0], illuminant: 'D65', observer: '2deg' },
      'colour-incomplete',
    ],
    ['three figures', { hex: '#fff' }, 'colour-incomplete'],
    ['a name', { hex: 'tomato' }, 'colour-incomplete'],
    ['Lab alone', { lab: [50, 0, 0] }, 'colour-incomplete'],
    ['Lab without observer', { lab: [50, 0, 0], illuminant: 'D65' }, 'colour-incomplete'],
    ['Lab without illuminant', { lab: [50, 0, 0], observer: '2deg' }, 'colour-incomplete'],
    ['XYZ without illuminant', { xyz: [20, 20, 20] }, 'colour-incomplete'],
    ['X below 0', { xyz: [-1, 20, 20], illuminant: 'D65', observer: '2deg' }, 'colour-incomplete'],
    ['another observer', { lab: [50, 0, 0], illuminant: 'D65', observer: '4deg' }, 'colour-unsupported'],
    [
      'another geometry',
      { lab: [50, 0, 0], illuminant: 'D65', observer: '2deg', geometry: '0:45' },
      'colour-unsupported',
    ],
    [
      'a spectrum in percent',
      { spectrum: { startNm: 400, stepNm: 10, values: Array(31).fill(40) } },
      'spectrum-unreadable',
    ],
    [
      'a spectrum with a gap',
      { spectrum: { startNm: 400, stepNm: 10, values: [...Array(30).fill(0.4), null] } },
      'colour-incomplete',
    ],
    ['another illuminant', { lab: [50, 0, 0], illuminant: 'A', observer: '2deg' }, 'colour-unsupported'],
    ['L* over 100', { lab: [101, 0, 0], illuminant: 'D65', observer: '2deg' }, 'colour-incomplete'],
    ['L* below 0', { lab: [-1, 0, 0], illuminant: 'D65', observer: '2deg' }, 'colour-incomplete'],
    ['two figures', { lab: [50, 0], illuminant: 'D65', observer: '2deg' }, 'colour-incomplete'],
    ['no figure', { lab: [50, Number.NaN, 0], illuminant: 'D65', observer: '2deg' }, 'colour-incomplete'],
  ])('is refused: %s', async (_, given, code) => {
    const problem = await expectRefusal(() => readColour(given), code);
    expect(problem.more.where).toMatch(/^\/colour/);
  });
});
