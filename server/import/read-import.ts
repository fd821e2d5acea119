import { parse } from 'csv-parse/sync';
import { type ImportReading, MOST_ROWS, type ViewingDefaults } from '../core/import/measured-row.ts';
import { isCgats, readCgats } from '../core/import/read-cgats.ts';
import { readCxf } from '../core/import/read-cxf.ts';
import { type CsvLine, readImportCsv } from '../core/import/read-import-csv.ts';
import { Problem } from '../core/problems.ts';
import { IMPORT_PROBLEMS } from '../core/texts/problems/finish.ts';
import { parseXml } from './parse-xml.ts';

const TEXTS = IMPORT_PROBLEMS['text-encoding'];

/**
 * Reads a file of finishes: CxF3, CGATS.17 or CSV, told apart by how they begin, whatever the media type.
 * @param charset as the media type states it; null when it does not
 * @param columns names of the columns of a CSV, instead of its first row
 * @throws Problem `import-unreadable`, `text-encoding`
 */
export function readImport(
  bytes: Uint8Array,
  charset: string | null,
  viewing: ViewingDefaults,
  columns?: readonly string[],
): ImportReading {
  const text = decodeText(bytes, charset);
  if (text.trimStart().startsWith('<')) return readCxf(parseXml(text), viewing);
  if (isCgats(text)) return readCgats(text, viewing);
  const separator = findSeparator(text);
  return readImportCsv(splitCsv(text, separator), { decimalComma: separator === ';', viewing, columns });
}

/** The separator that occurs most often in the header. A header uses these signs for nothing else. */
function findSeparator(text: string): string {
  const [header = ''] = text.trimStart().split(/\r\n|\r|\n/, 1);
  const count = (sign: string) => header.split(sign).length;
  return [',', ';', '\t'].reduce((best, sign) => (count(sign) > count(best) ? sign : best));
}

/** Without a limit, one missing quote would make one cell of the whole file. */
const MOST_ROW_CHARACTERS = 256 * 1024;

/** Rows that the parser reads, with those of nothing but separators: it keeps an object for each, and an error for most. */
const MOST_RECORDS = 2 * MOST_ROWS + 1;
/** Cells of a row. The header allows far fewer, but the parser makes all cells first. */
const MOST_CELLS = 20_000;

function splitCsv(text: string, delimiter: string): CsvLine[] {
  refuseWideRows(text, delimiter);
  try {
    const records = parse(text, {
      delimiter,
      info: true,
      relax_column_count: true,
      skip_empty_lines: true,
      max_record_size: MOST_ROW_CHARACTERS,
      to: MOST_RECORDS,
    }) as unknown as { record: string[]; info: { lines: number } }[];
    if (records.length === MOST_RECORDS) throw tooManyRows(records.length);
    return (
      records
        .map(({ record, info }) => ({ line: info.lines - countBreaks(record), cells: record }))
        // a spreadsheet ends its files with rows of nothing but separators
        .filter(({ cells }) => cells.some((cell) => cell.trim() !== ''))
    );
  } catch (cause) {
    if (cause instanceof Problem) throw cause;
    throw new Problem('import-unreadable', {
      detail: IMPORT_PROBLEMS['import-unreadable'].csv((cause as Error).message.slice(0, 160).replace(/\.$/, '')),
      expected: 'CSV (RFC 4180), separated by comma, semicolon or tab',
    });
  }
}

function tooManyRows(rows: number): Problem {
  return new Problem('import-unreadable', {
    detail: IMPORT_PROBLEMS['import-unreadable'].tooManyRows(rows, MOST_ROWS),
    expected: `1 to ${MOST_ROWS} rows`,
    received: rows,
  });
}

/** @throws Problem `import-unreadable` when a line has too many separators */
function refuseWideRows(text: string, delimiter: string): void {
  let cells = 0;
  for (let i = 0; i < text.length; i++) {
    const sign = text[i];
    if (sign === '\n' || sign === '\r') cells = 0;
    else if (sign === delimiter && ++cells > MOST_CELLS) {
      throw new Problem('import-unreadable', {
        detail: IMPORT_PROBLEMS['import-unreadable'].csvTooManyColumns(cells, MOST_CELLS),
        expected: MOST_CELLS,
        received: cells,
      });
    }
  }
}

const countBreaks = (cells: readonly string[]) =>
  cells.reduce((sum, cell) => sum + (cell.match(/\r\n|\r|\n/g)?.length ?? 0), 0);

/**
 * Decodes UTF-8, with or without a byte order mark, or UTF-16 that begins with one. It refuses any other encoding, since a
 * guess makes wrong names that look right.
 * @param charset as the media type states it; null when it does not
 * @throws Problem `text-encoding`
 */
export function decodeText(bytes: Uint8Array, charset: string | null = null): string {
  const mark =
    bytes[0] === 0xff && bytes[1] === 0xfe ? 'utf-16le' : bytes[0] === 0xfe && bytes[1] === 0xff ? 'utf-16be' : null;
  if (charset !== null && !/^(utf-?8|utf-?16(le|be)?|us-ascii)$/i.test(charset))
    throw refuse(TEXTS.statedOtherwise(charset.slice(0, 40)));
  let text: string;
  try {
    text = new TextDecoder(mark ?? 'utf-8', { fatal: true }).decode(bytes);
  } catch (cause) {
    throw refuse(mark ? TEXTS.brokenUtf16(mark.toUpperCase()) : TEXTS.notUtf8, cause);
  }
  // UTF-16 without a mark reads as UTF-8 with zeros between the letters
  if (text.includes('\0')) throw refuse(TEXTS.zeroBytes);
  return text;
}

function refuse(detail: string, cause?: unknown): Problem {
  return new Problem('text-encoding', {
    detail,
    expected: ['UTF-8', 'UTF-16 with a byte order mark'],
    ...(cause !== undefined && { cause }),
  });
}
