/** Rows of cells. */
export type TextTable = readonly (readonly string[])[];

/**
 * Reads rows of cells: CSV by RFC 4180, or the tab-separated text of a spreadsheet's clipboard, which quotes in the same way.
 * A cell in quotes may hold separators, line breaks and doubled quotes. An unclosed quote runs to the end of the text.
 */
export function parseTable(text: string, separator: string): string[][] {
  const rows: string[][] = [];
  let row: string[] = [];
  let at = text.charCodeAt(0) === 0xfeff ? 1 : 0;
  const { length } = text;
  while (at <= length) {
    let cell: string;
    if (text[at] === '"') {
      let from = at + 1;
      cell = '';
      for (;;) {
        const end = text.indexOf('"', from);
        if (end < 0) {
          cell += text.slice(from);
          at = length;
          break;
        }
        cell += text.slice(from, end);
        at = end + 1;
        if (text[at] !== '"') break;
        cell += '"';
        from = at + 1;
      }
      // what stands between the closing quote and the separator belongs to the cell
      const rest = findEnd(text, at, separator);
      cell += text.slice(at, rest);
      at = rest;
    } else {
      const end = findEnd(text, at, separator);
      cell = text.slice(at, end);
      at = end;
    }
    row.push(cell);
    if (text[at] === separator) {
      at++;
      continue;
    }
    rows.push(row);
    row = [];
    if (at >= length) break;
    at += text[at] === '\r' && text[at + 1] === '\n' ? 2 : 1;
    // a line break at the end begins no further row
    if (at >= length) break;
  }
  return rows;
}

function findEnd(text: string, from: number, separator: string): number {
  let at = from;
  for (; at < text.length; at++) {
    const sign = text[at];
    if (sign === separator || sign === '\n' || sign === '\r') break;
  }
  return at;
}

/** The separator that occurs most often in the first line: comma, semicolon or tab. */
export function guessSeparator(text: string): string {
  const [first = ''] = text.trimStart().split(/\r\n|\r|\n/, 1);
  const count = (sign: string) => first.split(sign).length;
  return [',', ';', '\t'].reduce((best, sign) => (count(sign) > count(best) ? sign : best));
}

/** Writes rows of cells, with quotes where a cell needs them. */
export function writeTable(rows: TextTable, separator: string): string {
  return rows.map((row) => row.map((cell) => quote(cell, separator)).join(separator)).join('\r\n');
}

function quote(cell: string, separator: string): string {
  const needs = cell.includes(separator) || /["\r\n]/.test(cell);
  return needs ? `"${cell.replaceAll('"', '""')}"` : cell;
}

/** What a spreadsheet takes for a formula (OWASP, CSV injection). */
const FORMULA = /^[=+\-@\t\r\uff1d\uff0b\uff0d\uff20]/;

/** Puts an apostrophe before a text that a spreadsheet would run. */
export function disarm(cell: string): string {
  return FORMULA.test(cell) ? `'${cell}` : cell;
}

/** Takes off the apostrophe that `disarm` puts there. */
export function rearm(cell: string): string {
  return cell.startsWith("'") && FORMULA.test(cell.slice(1)) ? cell.slice(1) : cell;
}
