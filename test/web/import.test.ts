import { describe, expect, it } from 'vitest';
import { TWO_DEGREE_BAND } from '../../server/core/colour/estimate-two-degree.ts';
import type { PlannedRow } from '../../server/core/import/plan-import.ts';
import type { ImportAnswer } from '../../server/http/contracts/finish-import.ts';
import { describeMarks } from '../../web/pages/import/describe-marks.ts';
import { describeChange, listLines } from '../../web/pages/import/list-lines.ts';

const planned = (line: number): PlannedRow => ({
  line,
  finish: `F-${line}`,
  name: 'x',
  family: 'paint',
  hex: '#2f5d73',
  lab: [38, -8, -15],
  outOfGamutDeltaE: 0,
  estimated: null,
  findings: [],
});

describe('the lines of a dry run', () => {
  it('stand in the order of the file, whatever comes of them', () => {
    const answer: ImportAnswer = {
      format: 'csv',
      stored: false,
      created: [planned(2), planned(6)],
      changed: [{ ...planned(5), fields: ['name'], changes: [], before: { name: 'y', hex: '#000000' }, deltaE: 0 }],
      unchanged: [planned(4)],
      refused: [{ line: 3, finish: null, code: 'cell-formula', message: 'formula' }],
    };
    expect(listLines(answer).map(({ kind, row }) => [row.line, kind])).toEqual([
      [2, 'created'],
      [3, 'refused'],
      [4, 'unchanged'],
      [5, 'changed'],
      [6, 'created'],
    ]);
  });

  it('say a change by what was, what comes, and what is taken off', () => {
    expect(describeChange({ field: 'name', before: 'Tarn', after: 'Tarn blue' }).how).toBe('Tarn → Tarn blue');
    expect(describeChange({ field: 'tags', before: null, after: 'warm' }).how).toBe('warm');
    expect(describeChange({ field: 'gloss', before: 'gu60 30', after: null }).how).toMatch(/taken off/);
  });

  it('are marked with figures where a colour is estimated or outside sRGB, and with words for all else', () => {
    expect(
      describeMarks({
        ...planned(1),
        findings: ['out-of-gamut', 'colour-estimated', 'albedo-implausible', 'moire'],
        outOfGamutDeltaE: 3.14,
        estimated: TWO_DEGREE_BAND,
      }),
    ).toEqual([
      'outside sRGB, shown ΔE00 3.1 off',
      `estimated from 10°, within ΔE00 ${TWO_DEGREE_BAND.typicalDeltaE} as a rule, seldom over ${TWO_DEGREE_BAND.worstDeltaE}`,
      'lightness unusual for such a surface',
      'moire',
    ]);
    expect(describeMarks(planned(1))).toEqual([]);
  });
});
