import { expect, it } from 'vitest';
import type { ColourSpecification } from '../../../../server/core/finish/finish.ts';
import { sayColour } from '../../../../server/core/finish/say-colour.ts';

it.each<[ColourSpecification, string]>([
  [{ hex: '#2f5d73' }, '#2f5d73'],
  [
    { lab: [38.104, -8.2, -0.001], illuminant: 'D65', observer: '10deg', geometry: 'di:8' },
    'Lab 38.1 −8.2 0, D65/10°, di:8',
  ],
  [{ xyz: [1, 2.345, 3], illuminant: 'D50', observer: '2deg' }, 'XYZ 1 2.35 3, D50/2°'],
  [
    { spectrum: { startNm: 400, stepNm: 10, values: Array(31).fill(0.5) }, geometry: 'de:8' },
    'spectrum 400–700 nm, every 10 nm, de:8',
  ],
])('says %j in one line', (colour, words) => {
  expect(sayColour(colour)).toBe(words);
});
