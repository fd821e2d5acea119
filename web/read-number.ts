import type { CombinationCount } from '../server/core/combinations/count-combinations.ts';
import type { CountAnswer } from '../server/http/contracts/schedule.ts';

/** Reads a typed number; a decimal comma and a real minus sign are accepted. NaN for an empty or unreadable text. */
export function readNumber(text: string): number {
  return text.trim() === '' ? Number.NaN : Number(text.trim().replace(',', '.').replace('−', '-'));
}

/** A number as one would type it; empty for undefined. */
export function typeNumber(value: number | undefined): string {
  return value === undefined ? '' : String(value);
}

/** A list of numbers as instruments and spreadsheets write them, separated by spaces, tabs, lines, semicolons or commas. */
export function readNumbers(text: string): number[] {
  const apart = text
    .trim()
    .split(/\s*;\s*|,?\s+/)
    .filter(Boolean);
  // a comma separates numbers only where no other separator occurs: elsewhere it is a decimal comma
  const pieces = apart.length === 1 ? apart[0]!.split(',').filter(Boolean) : apart;
  return pieces.map(readNumber);
}

/** Reads a count of the API, in which large numbers are strings. */
export function readCount(answer: CountAnswer): CombinationCount {
  return answer.exact
    ? { count: BigInt(answer.count), exact: true }
    : { lower: BigInt(answer.lower), upper: BigInt(answer.upper), exact: false };
}
