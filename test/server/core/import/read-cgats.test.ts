import { expect, it } from 'vitest';
import { isCgats, readCgats } from '../../../../server/core/import/read-cgats.ts';
import { expectRefusal } from '../../../support/refusal.ts';

// Keywords of CGATS.17 (ISO 28178) as in public files; values invented.

const LAB = `CGATS.17
ORIGINATOR "Mill lab"
CREATED "2026-03-01" # morning
WEIGHTING_FUNCTION "ILLUMINANT, D50"
WEIGHTING_FUNCTION "OBSERVER, 2 degree"
MEASUREMENT_GEOMETRY "0/45"
NUMBER_OF_FIELDS 5
BEGIN_DATA_FORMAT
SAMPLE_ID\tSAMPLE_NAME\tLAB_L\tLAB_A
LAB_B
END_DATA_FORMAT
NUMBER_OF_SETS 2
BEGIN_DATA
P-1\t"Tarn ""deep"" blue"\t38.1\t-8.2\t-15.4
# a comment between
P-2 Ash 70 0 1e0
END_DATA
`;

it('reads Lab with weighting function and geometry, quotes, comments and line numbers', () => {
  expect(isCgats(LAB)).toBe(true);
  const viewing = { illuminant: 'D50', observer: '2deg', geometry: '45:0' };
  expect(readCgats(LAB, { observer: '10deg' })).toEqual({
    format: 'cgats',
    refused: [],
    rows: [
      { line: 14, code: 'P-1', name: 'Tarn "deep" blue', colour: { lab: [38.1, -8.2, -15.4], ...viewing } },
      { line: 16, code: 'P-2', name: 'Ash', colour: { lab: [70, 0, 1], ...viewing } },
    ],
  });
});

it.each([
  ['MEASUREMENT_SOURCE "Illumination=D65 ObserverAngle=10° WhiteBase=Absolute"', 'D65', '10deg'],
  ['ILLUMINATION_NAME "D65"\nOBSERVER_ANGLE "10"', 'D65', '10deg'],
  ['WEIGHTING_FUNCTION "ILLUMINANT, D65" "OBSERVER, 10 degree"', 'D65', '10deg'],
])('reads illuminant and observer from %j', (said, illuminant, observer) => {
  const text = LAB.replace(/WEIGHTING_FUNCTION.*\n/g, '').replace(
    'MEASUREMENT_GEOMETRY',
    `${said}\nMEASUREMENT_GEOMETRY`,
  );
  expect(readCgats(text, {}).rows[0]!.colour).toMatchObject({ illuminant, observer });
});

// MEASUREMENT_GEOMETRY says whether light is reflected or transmitted, the geometry in words, and the aperture: the
// standard's explanation as Little CMS (cmscgats.c) quotes it, “0/45, 45/0, sphere (specular included or excluded)”
it.each([
  ['Reflection, 45/0, 4 mm round aperture', '45:0'],
  ['reflection 0/45a aperture 2.5mm', '45:0'],
  ['reflection, sphere (specular included), 8 mm', 'di:8'],
  ['reflection, sphere (specular excluded), 8 mm', 'de:8'],
  ['transmission, 0/45', 'transmission, 0/45'],
  ['reflection, 145/0', 'reflection, 145/0'],
])('reads the geometry from %j', (said, geometry) => {
  const text = LAB.replace(/MEASUREMENT_GEOMETRY.*/, `MEASUREMENT_GEOMETRY "${said}"`);
  expect(readCgats(text, {}).rows[0]!.colour).toMatchObject({ geometry });
});

it('leaves out illuminant and observer where the file has none, so that the finish is refused', () => {
  const { rows } = readCgats(LAB.replace(/WEIGHTING_FUNCTION.*\n/g, ''), {});
  expect(rows[0]!.colour).toEqual({ lab: [38.1, -8.2, -15.4], geometry: '45:0' });
});

const spectral = (fields: string, values: string, keywords = '') =>
  `CGATS.17\n${keywords}\nBEGIN_DATA_FORMAT\nSAMPLE_ID ${fields}\nEND_DATA_FORMAT\nBEGIN_DATA\nS-1 ${values}\nEND_DATA\n`;

it.each([
  ['nm400 nm420 nm440', '0.1 0.2 0.3', ''],
  ['SPECTRAL_NM400 SPECTRAL_NM420 SPECTRAL_NM440', '0.1 0.2 0.3', ''],
  ['SPECTRAL_400 SPECTRAL_420 SPECTRAL_440', '0.1 0.2 0.3', ''],
  ['SPECTRAL_NM_400 SPECTRAL_NM_420 SPECTRAL_NM_440', '0.1 0.2 0.3', ''],
  ['SPEC_400 SPEC_420 SPEC_440', '10 20 30', 'SPECTRAL_NORM "100.0"'],
  ['SPECTRAL_PCT400 SPECTRAL_PCT420 SPECTRAL_PCT440', '10 20 30', ''],
  ['SPECTRAL_NM SPECTRAL_DEC SPECTRAL_NM SPECTRAL_DEC SPECTRAL_NM SPECTRAL_DEC', '400 0.1 420 0.2 440 0.3', ''],
])('reads wavelengths in the spelling %s', (fields, values, keywords) => {
  const { rows } = readCgats(spectral(fields, values, keywords), {});
  expect(rows[0]!.colour.spectrum).toMatchObject({ startNm: 400, stepNm: 20 });
  rows[0]!.colour.spectrum!.values.forEach((value, i) => {
    expect(value).toBeCloseTo([0.1, 0.2, 0.3][i]!, 12);
  });
});

it('does not guess that values are percent', () => {
  expect(readCgats(spectral('nm400 nm420 nm440', '10 20 30'), {}).rows[0]!.colour.spectrum!.values).toEqual([
    10, 20, 30,
  ]);
});

it('prefers the spectrum to Lab, and joins sets that span several lines', () => {
  const { rows } = readCgats(spectral('LAB_L LAB_A LAB_B nm400 nm410', '50 0 0\n0.1 0.2\nS-2 51 0 0\n0.3 0.4'), {});
  expect(rows).toEqual([
    { line: 7, code: 'S-1', colour: { spectrum: { startNm: 400, stepNm: 10, values: [0.1, 0.2] } } },
    { line: 9, code: 'S-2', colour: { spectrum: { startNm: 400, stepNm: 10, values: [0.3, 0.4] } } },
  ]);
});

it('refuses each unreadable set and reads the others', () => {
  const { rows, refused } = readCgats(
    LAB.replace('P-2 Ash 70 0 1e0', 'P-2 Ash 70 NaN 1\nP-3 Ash grey 70 0 1').replace('SETS 2', 'SETS 3'),
    {},
  );
  expect(rows.map(({ code }) => code)).toEqual(['P-1']);
  expect(refused).toMatchObject([
    { line: 16, finish: 'P-2', code: 'invalid-field' },
    { line: 17, finish: 'P-3', code: 'import-unreadable' },
  ]);
});

it.each([
  ['cut off in its data', LAB.replace('END_DATA\n', '').replace(/END_DATA$/m, '')],
  ['with fewer sets than it says', LAB.replace('SETS 2', 'SETS 200')],
  ['with other fields than it says', LAB.replace('FIELDS 5', 'FIELDS 6')],
  ['with data before its format', 'CGATS.17\nBEGIN_DATA\n1 2\nEND_DATA\n'],
  ['with an open quotation mark', LAB.replace('blue"', 'blue')],
  ['without data', 'CGATS.17\nORIGINATOR "x"\n'],
])('refuses a file %s, naming the line', async (_, text) => {
  const problem = await expectRefusal(() => readCgats(text, {}), 'import-unreadable');
  expect(problem.message).toMatch(/^Line \d+: /);
});
