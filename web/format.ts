import type { CombinationCount } from '../server/core/combinations/count-combinations.ts';
import { capitalise, formatNumber } from '../server/core/texts/format-text.ts';
import type { CountAnswer } from '../server/http/contracts/schedule.ts';
import type { Units } from './units.ts';

const MM_PER_INCH = 25.4;

/** A length in the unit given, rounded as the pages show it: whole millimetres (tenths below 10 mm), or tenths of an inch. */
function roundLength(mm: number, units: Units): number {
  if (units === 'inch') return Number((mm / MM_PER_INCH).toFixed(1));
  return mm < 10 ? Math.round(mm * 10) / 10 : Math.round(mm);
}

/** A length in the units the reader chose: whole millimetres (one decimal below 10 mm), or tenths of an inch. */
export function formatLength(mm: number, units: Units = 'mm'): string {
  const rounded = roundLength(mm, units);
  return units === 'inch' ? rounded.toFixed(1) : formatNumber(rounded);
}

/** A coordinate, with a real minus sign; one that rounds to zero has no sign. */
export function formatSignedLength(mm: number, units: Units): string {
  const text = formatLength(Math.abs(mm), units);
  return mm < 0 && roundLength(-mm, units) !== 0 ? `−${text}` : text;
}

/** Letters of scripts that run from right to left. */
const RIGHT_TO_LEFT = /[\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufeff]/;

/** A name that keeps its own direction, and leaves that of the text around it alone (isolates of UAX #9). */
export function isolate(name: string): string {
  return RIGHT_TO_LEFT.test(name) ? `\u2068${name}\u2069` : name;
}

/** `a, b, c`, in this order in every script. */
export const listNames = (names: readonly string[]): string => names.map(isolate).join(', ');

export interface Size {
  readonly widthMm: number;
  readonly depthMm: number;
  readonly heightMm: number;
}

/** Width × depth × height, in the order of data sheets. */
export function formatSize(size: Size, units: Units = 'mm'): string {
  const figures = [size.widthMm, size.depthMm, size.heightMm].map((mm) => formatLength(mm, units));
  return `${figures.join(' × ')} ${units === 'inch' ? 'in' : 'mm'}`;
}

/** CIE Lab to a tenth, with a real minus sign and no minus before a zero. */
export function formatLab(lab: readonly number[]): string {
  return lab
    .map((value) =>
      value
        .toFixed(1)
        .replace(/^-0\.0$/, '0.0')
        .replace('-', '−'),
    )
    .join(' ');
}

/** Bytes in the decimal units file managers show. */
export function formatBytes(bytes: number): string {
  if (bytes < 1000) return `${bytes} bytes`;
  const prefixed = ['kB', 'MB', 'GB'];
  let value = bytes / 1000;
  let at = 0;
  while (value >= 999.5 && at < prefixed.length - 1) {
    value /= 1000;
    at++;
  }
  return `${value < 10 ? value.toFixed(1) : Math.round(value)} ${prefixed[at]}`;
}

/** `25 Nov 2026, 09:04`, in the reader's time zone. */
export function formatDate(iso: string): string {
  const date = new Date(iso);
  if (Number.isNaN(date.getTime())) return iso;
  return new Intl.DateTimeFormat('en-GB', { dateStyle: 'medium', timeStyle: 'short' }).format(date);
}

/** A key as a word: `powder-coat` to `Powder coat`. */
export function formatKey(key: string): string {
  return capitalise(key.replaceAll('-', ' '));
}

/**
 * A number with at most so many significant digits: 1999.9 with three is `2,000`. A whole number has all of its digits,
 * with commas.
 */
export function formatSignificant(value: number, digits: number): string {
  const rounded = Number.isInteger(value) ? value : Number(value.toPrecision(digits));
  return Number.isInteger(rounded) ? formatNumber(rounded) : String(rounded);
}

/** A number with three significant digits. From 1,000 on it is rounded to a whole number, which keeps all of its digits. */
export function formatToWhole(value: number): string {
  if (Math.abs(value) >= 1000) return formatNumber(Math.round(value));
  return String(Number(value.toPrecision(3)));
}

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
