import { stringify } from 'csv-stringify/sync';

/**
 * CSV as RFC 4180 has it, with a header row. A text that a spreadsheet would take for a formula (OWASP, CSV injection) gets
 * an apostrophe before it; figures stay figures.
 */
export function writeCsv(header: readonly string[], rows: readonly (readonly (string | number | null)[])[]): string {
  return stringify([[...header], ...rows.map((cells) => [...cells])], {
    record_delimiter: '\r\n',
    escape_formulas: true,
    // a line break of another kind than the records' is quoted as well
    quoted_match: /[\r\n]/,
    cast: { number: (value) => ({ value: String(value), escape_formulas: false }) },
  });
}
