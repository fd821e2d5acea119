/**
 * CSV as RFC 4180 has it, with a header. A cell that a spreadsheet would take for a formula (= + - @ in front, OWASP’s list)
 * gets an apostrophe before it; figures are figures.
 */
export function writeCsv(header: readonly string[], rows: readonly (readonly (string | number | null)[])[]): string {
  return [header, ...rows].map((cells) => `${cells.map(writeCell).join(',')}\r\n`).join('');
}

function writeCell(value: string | number | null): string {
  if (value === null) return '';
  if (typeof value === 'number') return String(value);
  const text = /^[=+\-@\t\r]/.test(value) ? `'${value}` : value;
  return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}
