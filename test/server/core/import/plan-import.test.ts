import { expect, it } from 'vitest';
import { TWO_DEGREE_BAND } from '../../../../server/core/colour/estimate-two-degree.ts';
import { deltaE2000, hexToLab } from '../../../../server/core/colour/lab.ts';
import type { Article, StoredFinish } from '../../../../server/core/finish/finish.ts';
import type { ImportReading, MeasuredRow, RefusedRow } from '../../../../server/core/import/measured-row.ts';
import { listChanges, planImport } from '../../../../server/core/import/plan-import.ts';
import { makeFinish } from '../../../support/make-finish.ts';

const hex = { hex: '#2f5d73' };
const cord: Article = { article: 'CORD', name: 'Cord', family: 'textile' };
const known: StoredFinish = {
  finish: 'P-1',
  name: 'Tarn',
  family: 'paint',
  colour: hex,
  names: { fr: 'Lac' },
  maps: { normal: 'f'.repeat(64) },
  tags: ['warm'],
  revision: 3,
};
const reading = (rows: readonly MeasuredRow[], refused: readonly RefusedRow[] = []): ImportReading => ({
  format: 'csv',
  rows,
  refused,
});
const plan = (rows: readonly MeasuredRow[], defaults = {}, refused: readonly RefusedRow[] = []) =>
  planImport(reading(rows, refused), { finishes: [known], articles: [cord] }, defaults);

it('reports which rows are new, which fields change, and which rows are unchanged', () => {
  const { created, changed, unchanged, refused, finishes } = plan([
    { line: 2, code: 'p-1', name: 'Tarn blue', names: { de: 'Bergsee' }, colour: { hex: '#2F5D74' } },
    { line: 3, code: 'P-2', name: 'Ash', family: 'Paint', colour: hex },
  ]);
  expect(refused).toEqual([]);
  expect(created).toEqual([
    {
      line: 3,
      finish: 'P-2',
      name: 'Ash',
      family: 'paint',
      hex: '#2f5d73',
      lab: expect.any(Array),
      outOfGamutDeltaE: 0,
      estimated: null,
      findings: [],
    },
  ]);
  expect(changed).toMatchObject([
    {
      line: 2,
      finish: 'P-1',
      name: 'Tarn blue',
      hex: '#2f5d74',
      fields: ['colour', 'name', 'names'],
      changes: [
        { field: 'colour', before: '#2f5d73', after: '#2f5d74' },
        { field: 'name', before: 'Tarn', after: 'Tarn blue' },
        { field: 'names', before: 'fr Lac', after: 'fr Lac, de Bergsee' },
      ],
      before: { name: 'Tarn', hex: '#2f5d73' },
    },
  ]);
  // one step of one 8-bit channel
  expect(changed[0]!.deltaE).toBeCloseTo(deltaE2000(hexToLab('#2f5d73'), hexToLab('#2f5d74')), 9);
  expect(changed[0]!.deltaE).toBeGreaterThan(0.1);
  expect(unchanged).toEqual([]);
  // a field that the row omits stays
  expect(finishes[0]).toEqual({
    finish: 'P-1',
    name: 'Tarn blue',
    names: { fr: 'Lac', de: 'Bergsee' },
    family: 'paint',
    colour: { hex: '#2f5d74' },
    maps: known.maps,
    tags: ['warm'],
  });
  expect(plan([{ line: 2, code: 'P-1', name: 'Tarn', colour: {} }])).toMatchObject({
    unchanged: [{ line: 2, finish: 'P-1' }],
    finishes: [],
  });
});

it('uses family and article from the caller for new finishes only, and the family of the article', () => {
  const rows = [
    { line: 2, code: 'P-1', name: 'Tarn', colour: hex },
    { line: 3, code: 'C-1', name: 'Moss', colour: hex },
    { line: 4, code: 'C-2', name: 'Fern', colour: hex, family: 'glass', article: 'cord' },
  ];
  const { unchanged, finishes } = plan([rows[0]!], { family: 'glass' });
  expect(unchanged).toHaveLength(1);
  expect(finishes).toEqual([]);
  expect(plan([rows[1]!], { article: 'CORD' }).finishes).toMatchObject([{ family: 'textile', article: 'CORD' }]);
  expect(plan([rows[2]!]).refused).toMatchObject([{ line: 4, finish: 'C-2', code: 'invalid-field' }]);
  expect(plan([rows[1]!], { article: 'NONE' }).refused).toMatchObject([{ code: 'unknown-article' }]);
  expect(plan([rows[1]!]).refused).toMatchObject([{ code: 'invalid-field' }]);
});

it('refuses a repeated code on each of its lines, in any case, even where one line is already refused', () => {
  const row = (line: number, code: string) => ({ line, code, name: 'x', family: 'paint', colour: hex });
  const { refused, created } = plan([row(4, 'A'), row(3, 'a'), row(5, 'B'), row(6, 'C')], {}, [
    { line: 2, finish: 'b', code: 'cell-formula', message: 'formula' },
  ]);
  expect(refused.map(({ line, code }) => [line, code])).toEqual([
    [2, 'duplicate-code'],
    [3, 'duplicate-code'],
    [4, 'duplicate-code'],
    [5, 'duplicate-code'],
  ]);
  expect(refused[1]!.message).toMatch(/lines 3, 4/);
  expect(created).toMatchObject([{ line: 6 }]);
});

it('checks each row like a single finish, in the same words', () => {
  const paint = { name: 'x', family: 'paint' } as const;
  const percent = { startNm: 400, stepNm: 10, values: Array(31).fill(40) };
  const gap = { startNm: 400, stepNm: 10, values: [...Array(30).fill(0.4), null, ...Array(3).fill(0.4)] };
  const { refused, created } = plan([
    { ...paint, line: 2, code: 'A', colour: { lab: [50, 0, 0] } },
    { ...paint, line: 3, code: 'B', colour: { hex: '#2f5d7g' } },
    { ...paint, line: 4, code: 'C', colour: hex, gloss: { gu60: -1 } },
    { ...paint, line: 5, code: 'D', colour: { spectrum: percent } },
    { ...paint, line: 6, code: 'E', colour: { spectrum: gap } },
    { ...paint, line: 7, code: 'no code', colour: hex },
    { ...paint, line: 8, code: '', colour: hex },
    { ...paint, line: 9, code: 'F', colour: hex, display: 'blue' },
    { ...paint, line: 10, code: 'G', colour: { lab: [50, 0, 0], illuminant: 'D65', observer: '10deg' } },
  ]);
  expect(refused.map(({ line, code }) => [line, code])).toEqual([
    [2, 'colour-incomplete'],
    [3, 'colour-incomplete'],
    [4, 'gloss-incomplete'],
    [5, 'spectrum-unreadable'],
    [6, 'colour-incomplete'],
    [7, 'invalid-code'],
    [8, 'invalid-code'],
    [9, 'invalid-field'],
  ]);
  expect(refused[0]!.message).toMatch(/illuminant and the observer/);
  expect(created).toMatchObject([{ line: 10, finish: 'G' }]);
});

it('reports the outcome of each row: its chip, an estimate, its distance from sRGB, and its findings', () => {
  const paint = { name: 'x', family: 'paint' } as const;
  const d65 = { illuminant: 'D65', observer: '2deg' } as const;
  const { created } = plan([
    { ...paint, line: 2, code: 'A', colour: { lab: [50, 0, 0], illuminant: 'D65', observer: '10deg' } },
    { ...paint, line: 3, code: 'B', colour: { lab: [60, -80, 20], ...d65 } },
    { ...paint, line: 4, code: 'C', colour: { lab: [50, 0, 0], ...d65 } },
    { line: 5, code: 'D', name: 'x', article: 'cord', colour: hex },
  ]);
  const [estimated, outside, plain, cloth] = created;
  expect(estimated).toMatchObject({ estimated: TWO_DEGREE_BAND, findings: ['colour-estimated'], outOfGamutDeltaE: 0 });
  expect(outside).toMatchObject({ estimated: null, findings: ['out-of-gamut'] });
  expect(outside!.outOfGamutDeltaE).toBeGreaterThan(1);
  // L* 50 is #777777 in sRGB (CSS Color 4)
  expect(plain).toMatchObject({ hex: '#777777', findings: [], outOfGamutDeltaE: 0 });
  expect(cloth).toMatchObject({ family: 'textile', article: 'cord' });
});

const before: StoredFinish = { ...makeFinish('P-1', { tags: ['warm'], gloss: { gu60: 30, gu20: 4 } }), revision: 2 };

it('lists nothing where only the order of fields or the revision differs', () => {
  const { revision: _, ...same } = before;
  expect(listChanges(before, { ...same, gloss: { gu20: 4, gu60: 30 } })).toEqual([]);
});

it('states before and after in words, null for a missing value, and cuts long values', () => {
  const { revision: _, gloss: _g, ...rest } = before;
  const changes = listChanges(before, { ...rest, tags: ['warm', 'outdoor'], note: 'n'.repeat(500) });
  expect(changes.map(({ field }) => field)).toEqual(['gloss', 'note', 'tags']);
  expect(changes[0]).toEqual({ field: 'gloss', before: 'gu60 30, gu20 4', after: null });
  expect(changes[1]!.before).toBeNull();
  expect(changes[1]!.after).toMatch(/^n{159}…$/);
  expect(changes[2]).toEqual({ field: 'tags', before: 'warm', after: 'warm, outdoor' });
});
