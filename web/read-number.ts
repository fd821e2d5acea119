/** Reads what a person types as a figure: a decimal comma and a real minus sign too. NaN for what is none, or nothing. */
export function readNumber(text: string): number {
  return text.trim() === '' ? Number.NaN : Number(text.trim().replace(',', '.').replace('−', '-'));
}

/** A figure as one types it; nothing for none. */
export function typeNumber(value: number | undefined): string {
  return value === undefined ? '' : String(value);
}

/** A row of figures as instruments and spreadsheets write them: between spaces, tabs, lines or semicolons, or commas. */
export function readNumbers(text: string): number[] {
  const apart = text
    .trim()
    .split(/\s*;\s*|,?\s+/)
    .filter(Boolean);
  // without anything else between them, commas part the figures
  const pieces = apart.length === 1 ? apart[0]!.split(',').filter(Boolean) : apart;
  return pieces.map(readNumber);
}
