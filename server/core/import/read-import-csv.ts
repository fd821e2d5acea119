import type { GlossReading } from '../finish/finish.ts';
import type { GivenColour } from '../finish/read-finish.ts';
import { Problem } from '../problems.ts';
import { IMPORT_PROBLEMS } from '../texts/problems/finish.ts';
import {
  collectRows,
  gatherSpectrum,
  type ImportReading,
  type MeasuredRow,
  readNumber,
  tidyViewing,
  type ViewingDefaults,
} from './measured-row.ts';
import { LEFT_OUT, NUMBER_COLUMNS, nameColumns, TEXT_COLUMNS, WAVELENGTH_COLUMN } from './name-columns.ts';

/** A row of a CSV file: its cells, and the line where it begins. */
export interface CsvLine {
  readonly line: number;
  readonly cells: readonly string[];
}

interface CsvSettings {
  readonly decimalComma: boolean;
  readonly viewing: ViewingDefaults;
  /** Names the columns instead of the first row; `-` leaves one out. */
  readonly columns?: readonly string[] | undefined;
}

type Text = (typeof TEXT_COLUMNS)[number];
type Numeric = (typeof NUMBER_COLUMNS)[number];

const MOST_COLUMNS = 600;

const TEXTS = IMPORT_PROBLEMS['import-unreadable'];

/**
 * Reads finishes from CSV. The first row is the header. `code` and `name` are required; all other columns are optional,
 * in any order and case, and under other usual names (`nameColumns`). `IMPORT_COLUMNS` describes each column.
 *
 * The header decides the separator: comma, semicolon or tab. With a semicolon, numbers may have a decimal comma (and
 * several tags in one cell need quotes). An empty cell means no value. Text that begins like a formula (= + - @) is
 * refused, since a spreadsheet would run it; negative numbers are numbers.
 * @throws Problem `import-unreadable` when the header cannot be used
 */
export function readImportCsv(
  [header, ...lines]: readonly CsvLine[],
  { decimalComma, viewing, columns: given }: CsvSettings,
): ImportReading {
  const columns = readHeader(header?.cells ?? [], given);
  const codeAt = columns.indexOf('code');
  return collectRows(
    'csv',
    lines,
    ({ line, cells }) => ({ line, finish: cells[codeAt]?.trim() || null }),
    (line) => readLine(line, columns, decimalComma, viewing),
  );
}

/** The column of each cell. @param given names them instead of the header; `-` leaves a column out */
function readHeader(cells: readonly string[], given: readonly string[] | undefined): string[] {
  if (cells.length > MOST_COLUMNS) refuseHeader(TEXTS.csvTooManyColumns(cells.length, MOST_COLUMNS), cells.length);
  if (given && given.length !== cells.length) {
    refuseHeader(TEXTS.csvGivenColumns(cells.length, given.length), given.slice(0, 10));
  }
  const names = given ?? cells;
  const columns = nameColumns(names).map((column, at) =>
    column === null && given?.[at]?.trim() === LEFT_OUT ? LEFT_OUT : column,
  );
  const unknown = names.filter((_, at) => columns[at] === null).map((name) => name.trim());
  const read = columns.filter((column) => column !== null && column !== LEFT_OUT);
  const missing = ['code', 'name'].filter((column) => !read.includes(column));
  const twice = read.filter((column, i) => read.indexOf(column) !== i) as string[];
  const list = (names: readonly string[]) =>
    names
      .slice(0, 10)
      .map((name) => `“${name.slice(0, 40)}”`)
      .join(', ');
  if (missing.length > 0) refuseHeader(TEXTS.csvMissingColumns(list(missing)), names.slice(0, 10));
  if (unknown.length > 0) refuseHeader(TEXTS.csvUnknownColumns(list(unknown)), unknown.slice(0, 10));
  if (twice.length > 0) refuseHeader(TEXTS.csvRepeatedColumns(list(twice)), twice.slice(0, 10));
  return columns as string[];
}

function refuseHeader(detail: string, received: unknown): never {
  throw new Problem('import-unreadable', {
    detail,
    expected: [...TEXT_COLUMNS, ...NUMBER_COLUMNS, 'nm400 …', 'name:de …'],
    received,
  });
}

function readLine(
  { line, cells }: CsvLine,
  columns: readonly string[],
  decimalComma: boolean,
  defaults: ViewingDefaults,
): MeasuredRow {
  if (cells.length !== columns.length) {
    throw new Problem('import-unreadable', {
      detail: TEXTS.csvCellCount(columns.length, cells.length),
      expected: columns.length,
      received: cells.length,
    });
  }
  const texts: Partial<Record<Text, string>> = {};
  const numbers: Partial<Record<Numeric, number>> = {};
  const names: [string, string][] = [];
  const readings: [number, number | null][] = [];
  columns.forEach((column, i) => {
    if (column === LEFT_OUT) return;
    const raw = cells[i]!;
    const cell = raw.trim();
    const [, nm] = WAVELENGTH_COLUMN.exec(column) ?? [];
    if (nm) {
      readings.push([Number(nm), cell === '' ? null : readNumber(cell, column, decimalComma)]);
    } else if (cell === '') return;
    else if ((NUMBER_COLUMNS as readonly string[]).includes(column)) {
      numbers[column as Numeric] = readNumber(cell, column, decimalComma);
    } else {
      refuseFormula(raw, column);
      if (column.startsWith('name:')) names.push([column.slice('name:'.length), cell]);
      else texts[column as Text] = cell;
    }
  });
  const { code = '', name = '', hex: _, illuminant: _i, observer: _o, geometry: _g, tags, ...rest } = texts;
  const gloss = readGloss(numbers);
  return {
    line,
    code,
    name,
    ...rest,
    ...(names.length > 0 && { names: Object.fromEntries(names) }),
    ...(gloss && { gloss }),
    ...(tags && {
      tags: tags
        .split(';')
        .map((tag) => tag.trim())
        .filter((tag) => tag !== ''),
    }),
    colour: readColours(texts, numbers, readings, defaults),
  };
}

/** All forms in which the row states its colour; the check of the finish makes sure that there is exactly one. */
function readColours(
  texts: Partial<Record<Text, string>>,
  numbers: Partial<Record<Numeric, number>>,
  readings: readonly [number, number | null][],
  defaults: ViewingDefaults,
): GivenColour {
  const lab = readThree(numbers, ['l', 'a', 'b']);
  const xyz = readThree(numbers, ['x', 'y', 'z']);
  const spectrum = gatherSpectrum(readings);
  const measured = lab || xyz || spectrum;
  const { illuminant, observer, geometry } = tidyViewing(texts, defaults);
  return {
    ...(texts.hex && { hex: texts.hex }),
    ...(lab && { lab }),
    ...(xyz && { xyz }),
    ...(spectrum && { spectrum }),
    ...((lab || xyz) && illuminant !== undefined && { illuminant }),
    ...((lab || xyz) && observer !== undefined && { observer }),
    ...(measured && geometry !== undefined && { geometry }),
  };
}

function readThree(numbers: Partial<Record<Numeric, number>>, keys: readonly Numeric[]): number[] | null {
  const missing = keys.filter((key) => numbers[key] === undefined);
  if (missing.length === keys.length) return null;
  if (missing.length === 0) return keys.map((key) => numbers[key]!);
  throw new Problem('colour-incomplete', {
    detail: IMPORT_PROBLEMS['colour-incomplete'].missingCells(keys, missing),
    expected: keys,
    received: keys.filter((key) => numbers[key] !== undefined),
    where: '/colour',
  });
}

function readGloss({ gu20, gu60, gu85 }: Partial<Record<Numeric, number>>): GlossReading | null {
  if (gu20 === undefined && gu60 === undefined && gu85 === undefined) return null;
  return {
    ...(gu20 !== undefined && { gu20 }),
    ...(gu60 !== undefined && { gu60 }),
    ...(gu85 !== undefined && { gu85 }),
  };
}

/**
 * Characters that make a spreadsheet run a cell (common practice: CSV injection); white space before them does not
 * help.
 */
const FORMULA = /^(?:[\t\r]|\s*[=+\-@])/;

function refuseFormula(cell: string, column: string): void {
  if (!FORMULA.test(cell)) return;
  throw new Problem('cell-formula', {
    detail: IMPORT_PROBLEMS['cell-formula'](column, cell.trim().slice(0, 30)),
    expected: 'text',
    received: cell.slice(0, 30),
    where: column,
  });
}

/** Columns of a CSV file of finishes that belong together, and their contents. */
interface ImportColumns {
  readonly columns: readonly string[];
  /** For people. */
  readonly holds: string;
  readonly needed?: true;
}

/** The header of a CSV file of finishes, for people: every column that the reader knows. */
export const IMPORT_COLUMNS: readonly ImportColumns[] = [
  { columns: ['code'], holds: 'Code of the finish: a known one is changed, another is new', needed: true },
  { columns: ['name'], holds: 'Its name', needed: true },
  { columns: ['name:de …'], holds: 'The name in another language' },
  { columns: ['family', 'article'], holds: 'Family of finishes; code of an article' },
  { columns: ['hex'], holds: 'Colour as sRGB, such as #2f5d73' },
  { columns: ['l', 'a', 'b'], holds: 'or CIE L*a*b*, with illuminant and observer' },
  { columns: ['x', 'y', 'z'], holds: 'or CIE XYZ, with illuminant and observer; Y of the white is 100' },
  { columns: ['nm400', 'nm410 …'], holds: 'or reflectance 0–1, a column for each wavelength, every 5, 10 or 20 nm' },
  { columns: ['illuminant', 'observer'], holds: 'D50 or D65; 2deg or 10deg' },
  { columns: ['geometry'], holds: 'di:8 (reflection included), de:8 (excluded) or 45:0' },
  { columns: ['display'], holds: 'Approved screen colour as sRGB hex' },
  { columns: ['gu60', 'gu20', 'gu85'], holds: 'Gloss units at that angle, ISO 2813' },
  { columns: ['tags'], holds: 'Tags, separated by semicolons' },
  { columns: ['supplier', 'note'], holds: 'Text' },
];

const WAVELENGTHS = Array.from({ length: 31 }, (_, i) => 400 + 10 * i);

/** Invented: rises at about 570 nm, like a yellow. */
const YELLOW = WAVELENGTHS.map((nm) => (0.08 + 0.55 / (1 + Math.exp((515 - nm) / 14))).toFixed(4));

const ROWS: readonly Readonly<Record<string, string>>[] = [
  { code: 'EX-10', name: 'Example by hex', family: 'paint', hex: '#2f5d73', gu60: '30', tags: 'cold; example' },
  {
    code: 'EX-20',
    name: 'Example by Lab',
    'name:de': 'Beispiel nach Lab',
    family: 'powder-coat',
    l: '38.1',
    a: '-8.2',
    b: '-15.4',
    illuminant: 'D65',
    observer: '10deg',
    geometry: 'di:8',
    gu60: '72',
    tags: 'example',
    supplier: 'Example works',
  },
  {
    code: 'EX-30',
    name: 'Example by spectrum',
    family: 'textile',
    geometry: 'de:8',
    tags: 'warm; example',
    ...Object.fromEntries(WAVELENGTHS.map((nm, i) => [`nm${nm}`, YELLOW[i]!])),
  },
];

/** An example CSV file: one finish by hex, one by Lab for the 10° observer, one by its spectrum. */
export function writeExampleCsv(): string {
  const columns = [
    ...['code', 'name', 'name:de', 'family', 'hex', 'l', 'a', 'b', 'illuminant', 'observer', 'geometry', 'gu60'],
    ...['tags', 'supplier'],
    ...WAVELENGTHS.map((nm) => `nm${nm}`),
  ];
  const lines = ROWS.map((row) => columns.map((column) => row[column] ?? '').join(','));
  return `${[columns.join(','), ...lines].join('\r\n')}\r\n`;
}
