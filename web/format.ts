export type Units = 'mm' | 'inch';

const MM_PER_INCH = 25.4;

/** A length in the units the reader chose: whole millimetres (one decimal below 10 mm), or tenths of an inch. */
export function formatLength(mm: number, units: Units = 'mm'): string {
  if (units === 'inch') return (mm / MM_PER_INCH).toFixed(1);
  return mm < 10 ? String(Math.round(mm * 10) / 10) : String(Math.round(mm));
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

/** A number and its noun: `1 variant`, `12 variants`. Pass an irregular plural. */
export function count(n: number, noun: string, plural = `${noun}s`): string {
  return `${formatNumber(n)} ${n === 1 ? noun : plural}`;
}

/** Thousands separated by a thin space (ISO 80000-1). */
export function formatNumber(n: number | bigint): string {
  return String(n).replace(/\B(?=(\d{3})+(?!\d))/g, '\u2009');
}

/** `25 Nov 2026, 09:04`, in the reader's time zone. */
export function formatDate(iso: string): string {
  const date = new Date(iso);
  if (Number.isNaN(date.getTime())) return iso;
  return new Intl.DateTimeFormat('en-GB', { dateStyle: 'medium', timeStyle: 'short' }).format(date);
}

/** The first digits of a digest, enough to compare by eye. */
export function shortDigest(sha256: string): string {
  return sha256.slice(0, 8);
}

/** A key as a word: `powder-coat` to `Powder coat`. */
export function formatKey(key: string): string {
  const words = key.replaceAll('-', ' ');
  return words.charAt(0).toUpperCase() + words.slice(1);
}
