import { LEFT_OUT, NUMBER_COLUMNS, nameColumns, TEXT_COLUMNS } from '../../../server/core/import/name-columns.ts';
import { guessSeparator } from '../../parts/text-table.ts';

/** The columns of a CSV file that the user assigns. */
export interface ColumnMap {
  /** The first row, as it stands in the file. */
  readonly headers: readonly string[];
  /** A cell of the second row for each, so that the user recognises the column; empty without one. */
  readonly samples: readonly string[];
  /** The column that each header means; `-` for one to leave out. */
  readonly columns: readonly string[];
}

/** More columns than a person assigns by hand are spectra, which have names of their own. */
const MOST_HEADERS = 120;

/**
 * The columns of a CSV file if its headers need the user: not all are known, or code or name is missing. Null for other files
 * and for a file whose headers say everything.
 * @param beginning of the file, some rows long
 */
export function findColumnMap(
  beginning: string,
  recall: (headers: readonly string[]) => readonly string[] | null,
): ColumnMap | null {
  const text = beginning.replace(/^\uFEFF/, '').trimStart();
  if (text === '' || text.startsWith('<') || /^\s*BEGIN_DATA_FORMAT/im.test(text) || /^CGATS/i.test(text)) return null;
  const [headers = [], samples = []] = readRows(text, 2);
  if (headers.length < 2 || headers.length > MOST_HEADERS) return null;
  const guessed = nameColumns(headers);
  if (!guessed.includes(null) && guessed.includes('code') && guessed.includes('name')) return null;
  const known = recall(headers);
  const columns = known?.length === headers.length ? known : guessed.map((column) => column ?? LEFT_OUT);
  return { headers, samples: headers.map((_, at) => samples[at] ?? ''), columns };
}

/** Assigns a column to a header; a header that had it before loses it. */
export function assignColumn(map: ColumnMap, at: number, column: string): ColumnMap {
  const columns = map.columns.map((other, i) => {
    if (i === at) return column;
    return other === column && column !== LEFT_OUT ? LEFT_OUT : other;
  });
  return { ...map, columns };
}

/** The required columns that no header has yet. */
export function listMissing({ columns }: ColumnMap): string[] {
  return ['code', 'name'].filter((column) => !columns.includes(column));
}

/** The columns that a header may be assigned to. */
export function listChoices({ columns }: ColumnMap): string[] {
  return [...new Set([LEFT_OUT, ...TEXT_COLUMNS, ...NUMBER_COLUMNS, ...columns])];
}

/**
 * The first rows of a CSV (RFC 4180): quoted cells may contain separators, line breaks and doubled quotes. As for the
 * service, spaces around cells and empty rows do not count, unlike in a schedule (`parseTable`).
 */
export function readRows(text: string, most: number): string[][] {
  const separator = guessSeparator(text);
  const rows: string[][] = [];
  let row: string[] = [];
  let cell = '';
  let quoted = false;
  const endRow = () => {
    row.push(cell.trim());
    if (row.some((each) => each !== '')) rows.push(row);
    row = [];
    cell = '';
  };
  for (let i = 0; i < text.length && rows.length < most; i++) {
    const sign = text[i]!;
    if (quoted) {
      if (sign !== '"') cell += sign;
      else if (text[i + 1] === '"') cell += text[++i];
      else quoted = false;
    } else if (sign === '"' && cell.trim() === '') quoted = true;
    else if (sign === separator) {
      row.push(cell.trim());
      cell = '';
    } else if (sign === '\n' || sign === '\r') endRow();
    else cell += sign;
  }
  if (rows.length < most) endRow();
  return rows;
}

const STORED_AS = 'dyeworks.import-columns';
/** Sets of headers that are remembered, the last used ones. */
const MOST_REMEMBERED = 30;

type Remembered = readonly (readonly [headers: string, columns: readonly string[]])[];

/** The columns that the user assigned to these headers before; null if there are none. */
export function recallColumns(headers: readonly string[]): readonly string[] | null {
  return readRemembered().find(([known]) => known === keyOf(headers))?.[1] ?? null;
}

/** Remembers the columns for the next file with these headers. */
export function rememberColumns({ headers, columns }: ColumnMap): void {
  const key = keyOf(headers);
  const others = readRemembered().filter(([known]) => known !== key);
  try {
    localStorage.setItem(STORED_AS, JSON.stringify([[key, columns], ...others].slice(0, MOST_REMEMBERED)));
  } catch {
    // without storage, the next file asks again
  }
}

function readRemembered(): Remembered {
  try {
    const stored: unknown = JSON.parse(localStorage.getItem(STORED_AS) ?? '[]');
    return Array.isArray(stored) ? (stored as Remembered).filter((entry) => Array.isArray(entry?.[1])) : [];
  } catch {
    return [];
  }
}

const keyOf = (headers: readonly string[]) => JSON.stringify(headers.map((header) => header.trim().toLowerCase()));
