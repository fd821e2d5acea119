import { describe, expect, it } from 'vitest';
import { TWO_DEGREE_BAND } from '../../server/core/colour/estimate-two-degree.ts';
import type { PlannedRow } from '../../server/core/import/plan-import.ts';
import type { ImportAnswer } from '../../server/http/contracts/finish-uploads.ts';
import { describeChange, describeNotes, listLines } from '../../web/pages/import/import-model.ts';

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

describe('the lines of an import preview', () => {
  it('keep the order of the file, whatever their outcome', () => {
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

  it('describe a field that is changed, added or removed', () => {
    expect(describeChange({ field: 'name', before: 'Tarn', after: 'Tarn blue' }).change).toBe('Tarn → Tarn blue');
    expect(describeChange({ field: 'tags', before: null, after: 'warm' }).change).toBe('warm');
    expect(describeChange({ field: 'gloss', before: 'gu60 30', after: null }).change).toBe('removed, was gu60 30');
  });

  it('have notes with numbers for estimated and out-of-gamut colours, and never show a bare code', () => {
    expect(
      describeNotes({
        ...planned(1),
        findings: ['out-of-gamut', 'colour-estimated', 'albedo-implausible', 'unit-slip'],
        outOfGamutDeltaE: 3.14,
        estimated: TWO_DEGREE_BAND,
      }),
    ).toEqual([
      'outside sRGB, shown colour differs by ΔE00 3.1',
      `estimated from 10°, usually within ΔE00 ${TWO_DEGREE_BAND.typicalDeltaE}, and within ${TWO_DEGREE_BAND.worstDeltaE} in 19 of 20 cases`,
      'unusual lightness for this surface',
      'more details on the finish after the import',
    ]);
    expect(describeNotes(planned(1))).toEqual([]);
  });
});
