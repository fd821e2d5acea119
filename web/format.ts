import { signal } from '@preact/signals';
import type { CombinationCount } from '../server/core/combinations/count-combinations.ts';
import { formatNumber } from '../server/core/texts/format-text.ts';
import type { CountAnswer } from '../server/http/contracts/schedule.ts';

export type Units = 'mm' | 'inch';

const MM_PER_INCH = 25.4;
const UNITS_KEY = 'units';

/** The units in which lengths are shown. The browser remembers them. */
export const units = signal<Units>(recallUnits());

export function setUnits(value: Units): void {
  units.value = value;
  try {
    localStorage.setItem(UNITS_KEY, value);
  } catch {
    // without storage, the choice lasts until the page closes
  }
}

function recallUnits(): Units {
  try {
    return localStorage.getItem(UNITS_KEY) === 'inch' ? 'inch' : 'mm';
  } catch {
    return 'mm';
  }
}

/** A length in the units the reader chose: whole millimetres (one decimal below 10 mm), or tenths of an inch. */
export function formatLength(mm: number, units: Units = 'mm'): string {
  if (units === 'inch') return (mm / MM_PER_INCH).toFixed(1);
  return mm < 10 ? String(Math.round(mm * 10) / 10) : formatNumber(Math.round(mm));
}

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
  const units = ['kB', 'MB', 'GB'];
  let value = bytes / 1000;
  let at = 0;
  while (value >= 999.5 && at < units.length - 1) {
    value /= 1000;
    at++;
  }
  return `${value < 10 ? value.toFixed(1) : Math.round(value)} ${units[at]}`;
}

/** `25 Nov 2026, 09:04`, in the reader's time zone. */
export function formatDate(iso: string): string {
  const date = new Date(iso);
  if (Number.isNaN(date.getTime())) return iso;
  return new Intl.DateTimeFormat('en-GB', { dateStyle: 'medium', timeStyle: 'short' }).format(date);
}

/** A key as a word: `powder-coat` to `Powder coat`. */
export function formatKey(key: string): string {
  const words = key.replaceAll('-', ' ');
  return words.charAt(0).toUpperCase() + words.slice(1);
}

/** A number with at most so many significant digits; a whole number has all of its digits, with commas. */
export function formatDigits(value: number, digits: number): string {
  const rounded = Number.isInteger(value) ? value : Number(value.toPrecision(digits));
  return Number.isInteger(rounded) ? formatNumber(rounded) : String(rounded);
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
