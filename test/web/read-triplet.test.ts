import { expect, it } from 'vitest';
import { readTriplet } from '../../web/pages/finishes/read-triplet.ts';

// The ways of writing: ISO/CIE 11664-4 (L*, a*, b*), CSS Color 4 (`lab()`), ISO 80000-1 (decimal sign on the line: point or
// comma), and exports of spreadsheets (tabs, semicolons).

it.each([
  '62 -6.8 15.3',
  '62.0 -6.8 +15.3',
  '62\t-6.8\t15.3',
  '62, -6.8, 15.3',
  '62,-6.8,15.3',
  '62; -6.8; 15.3',
  '62 / −6.8 / 15.3',
  '62,0 -6,8 15,3',
  '62,0; -6,8; 15,3',
  '62,0, -6,8, 15,3',
  '62,0,-6,8,15,3',
  'L*62 a*-6.8 b*15.3',
  'L* 62.0  a* −6.8  b* 15.3',
  'L=62; a=-6,8; b=15,3',
  'L: 62, a: -6.8, b: 15.3',
  'L*=62 a*=-6.8 b*=15.3 D65/10°',
  'b* 15.3, a* -6.8, L* 62',
  'CIE L*a*b*: 62 -6.8 15.3',
  'CIELAB 62 -6.8 15.3',
  'Lab 62 -6.8 15.3 (D50, 2°)',
  'lab(62% -6.8 15.3)',
  'lab(62% -6.8 15.3 / 1)',
  '(62, -6.8, 15.3)',
  'l62a-6.8b15.3',
])('reads %s', (text) => {
  expect(readTriplet(text, 'Lab')?.map(Number)).toEqual([62, -6.8, 15.3]);
});

it('reads XYZ with its own letters', () => {
  expect(readTriplet('X=20,1 Y=21,5 Z=30', 'XYZ')).toEqual(['20.1', '21.5', '30']);
  expect(readTriplet('XYZ 20.1 21.5 30', 'XYZ')).toEqual(['20.1', '21.5', '30']);
});

it.each(['', '62', '62,5', '62 -6.8', '62 -6.8 15.3 4', '62,5,-6,15', 'a b c', '#2f5d73', 'L62 a3 L5', '1.2.3 4 5'])(
  'leaves “%s” to the field',
  (text) => {
    expect(readTriplet(text, 'Lab')).toBeNull();
  },
);
