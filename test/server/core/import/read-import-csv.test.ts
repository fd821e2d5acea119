import { expect, it } from 'vitest';
import { type CsvLine, IMPORT_COLUMNS, readImportCsv } from '../../../../server/core/import/read-import-csv.ts';
import type { ProblemCode } from '../../../../server/core/problems.ts';
import { expectRefusal } from '../../../support/refusal.ts';

const lines = (...rows: string[][]): CsvLine[] => rows.map((cells, i) => ({ line: i + 1, cells }));
const read = (rows: string[][], decimalComma = false, viewing = {}) =>
  readImportCsv(lines(...rows), { decimalComma, viewing });

it('reads Lab with its viewing conditions, gloss, names and tags', () => {
  const { rows, refused } = read([
    ['Code', 'name', 'name:de', 'family', 'L', 'a', 'b', 'illuminant', 'observer', 'geometry', 'gu60', 'tags', 'note'],
    ['P-1', 'Tarn', 'Bergsee', 'paint', '38.1', '-8.2', '-15.4', 'D65', '10', 'SCE', '30', 'warm; matt', 'batch 4'],
  ]);
  expect(refused).toEqual([]);
  expect(rows).toEqual([
    {
      line: 2,
      code: 'P-1',
      name: 'Tarn',
      names: { de: 'Bergsee' },
      family: 'paint',
      colour: { lab: [38.1, -8.2, -15.4], illuminant: 'D65', observer: '10deg', geometry: 'de:8' },
      gloss: { gu60: 30 },
      tags: ['warm', 'matt'],
      note: 'batch 4',
    },
  ]);
});

it('collects wavelengths in any order, drops empty ends and keeps gaps', () => {
  const { rows } = read([
    ['code', 'name', 'nm420', 'nm400', 'nm410', 'nm430', 'nm390'],
    ['S-1', 'One', '0.3', '0.1', '0.2', '0.4', ''],
    ['S-2', 'Two', '', '0.1', '0.2', '0.4', ''],
  ]);
  expect(rows.map(({ colour }) => colour.spectrum)).toEqual([
    { startNm: 400, stepNm: 10, values: [0.1, 0.2, 0.3, 0.4] },
    { startNm: 400, stepNm: 10, values: [0.1, 0.2, null, 0.4] },
  ]);
});

it('reads a decimal comma only where semicolons separate the columns', () => {
  const rows = [
    ['code', 'name', 'x', 'y', 'z'],
    ['P-1', 'Tarn', '9,5', '10', '11,25'],
  ];
  expect(read(rows, true).rows[0]!.colour.xyz).toEqual([9.5, 10, 11.25]);
  expect(read(rows).refused).toMatchObject([{ line: 2, finish: 'P-1', code: 'invalid-field' }]);
});

it('uses illuminant and observer of the caller only where a row has none', () => {
  const { rows } = read(
    [
      ['code', 'name', 'l', 'a', 'b', 'illuminant', 'observer'],
      ['P-1', 'One', '50', '0', '0', '', ''],
      ['P-2', 'Two', '50', '0', '0', 'D50', '2°'],
    ],
    false,
    { illuminant: 'D65', observer: '10deg' },
  );
  expect(rows.map(({ colour: { illuminant, observer } }) => `${illuminant}/${observer}`)).toEqual([
    'D65/10deg',
    'D50/2deg',
  ]);
});

// cells that a spreadsheet would run (OWASP, CSV injection): = + - @, tab and carriage return
it.each(['=1+1', '+cmd', '-2+3', '@SUM(A1)', '\t=1', '  =1'])('refuses a formula in text: %j', (cell) => {
  const { rows, refused } = read([
    ['code', 'name', 'hex'],
    ['P-1', cell, '#2f5d73'],
  ]);
  expect(rows).toEqual([]);
  expect(refused).toMatchObject([{ line: 2, finish: 'P-1', code: 'cell-formula' }]);
});

it.each<[string, string[], ProblemCode]>([
  ['a word for a number', ['P-1', 'x', 'fifty', '0', '0'], 'invalid-field'],
  ['NaN', ['P-1', 'x', 'NaN', '0', '0'], 'invalid-field'],
  ['a missing a*', ['P-1', 'x', '50', '', '0'], 'colour-incomplete'],
  ['a short row', ['P-1', 'x', '50'], 'import-unreadable'],
])('refuses a row with %s and reads the next', (_, cells, code) => {
  const { rows, refused } = read([['code', 'name', 'l', 'a', 'b'], cells, ['P-2', 'y', '-0', '-1', '+2']]);
  expect(refused).toMatchObject([{ line: 2, code }]);
  expect(rows).toMatchObject([{ line: 3, code: 'P-2' }]);
});

it('refuses uneven wavelengths', () => {
  const { refused } = read([
    ['code', 'name', 'nm400', 'nm410', 'nm425'],
    ['S-1', 'One', '0.3', '0.1', '0.2'],
  ]);
  expect(refused).toMatchObject([{ line: 2, code: 'spectrum-unreadable' }]);
});

it.each<[string, string[], RegExp]>([
  ['an unknown column', ['code', 'name', 'grade', 'price'], /“grade”, “price”/],
  ['no code', ['name', 'hex'], /“code”/],
  ['a column twice', ['code', 'name', 'hex', 'HEX'], /“hex”/],
])('refuses a header with %s and names it', async (_, header, words) => {
  const problem = await expectRefusal(() => read([header, header.map(() => 'x')]), 'import-unreadable');
  expect(problem.message).toMatch(words);
});

it('takes names of columns in place of the header, and leaves columns out', async () => {
  const rows = lines(['Shade', 'Title', 'Price', 'Light'], ['A-1', 'One', '=1+1', '62']);
  const settings = { decimalComma: false, viewing: { illuminant: 'D65', observer: '2deg' } } as const;
  const { rows: read } = readImportCsv(rows, { ...settings, columns: ['code', 'name', '-', '-'] });
  expect(read).toMatchObject([{ line: 2, code: 'A-1', name: 'One' }]);
  const refuse = (columns: readonly string[]) =>
    expectRefusal(() => readImportCsv(rows, { ...settings, columns }), 'import-unreadable');
  expect((await refuse(['code', 'name'])).message).toMatch('names 2 columns, but the first row has 4');
  expect((await refuse(['code', '-', '-', '-'])).message).toMatch('“name”');
  expect((await refuse(['code', 'name', 'code', '-'])).message).toMatch('twice');
  // in the file itself, a hyphen is no column
  await expectRefusal(() => readImportCsv(lines(['code', 'name', '-']), settings), 'import-unreadable');
});

it('refuses a file without rows', async () => {
  await expectRefusal(() => read([['code', 'name']]), 'import-unreadable');
  await expectRefusal(() => read([]), 'import-unreadable');
});

const documented = IMPORT_COLUMNS.flatMap(({ columns }) => columns.map((column) => column.replace(/ …$/, '')));
const readHeader = (header: readonly string[]) =>
  readImportCsv(
    [
      { line: 1, cells: header },
      { line: 2, cells: header.map(() => '') },
    ],
    { decimalComma: false, viewing: {} },
  );

it('documents only columns that the reader accepts, each once', () => {
  expect(new Set(documented).size).toBe(documented.length);
  expect(readHeader(documented).refused).toEqual([]);
});

it('documents every column that the reader accepts', async () => {
  const { more } = await expectRefusal(() => readHeader([...documented, 'price']), 'import-unreadable');
  const taken = (more.expected as string[]).map((column) => column.replace(/ …$/, ''));
  expect(taken.filter((column) => !documented.includes(column))).toEqual([]);
});

it('marks the required ones', async () => {
  for (const { columns, needed } of IMPORT_COLUMNS) {
    const rest = documented.filter((column) => column !== columns[0]);
    if (needed) await expectRefusal(() => readHeader(rest), 'import-unreadable');
    else expect(readHeader(rest).rows).toHaveLength(1);
  }
});
