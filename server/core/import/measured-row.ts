import type { GlossReading } from '../finish/finish.ts';
import type { GivenColour } from '../finish/read-finish.ts';
import { Problem, type ProblemCode } from '../problems.ts';
import { COLOUR_PROBLEMS, IMPORT_PROBLEMS } from '../texts/problems/finish.ts';
import { CALL_PROBLEMS } from '../texts/problems/request.ts';

/** One finish as a file states it, before it is checked. A known finish keeps every field that the row leaves out. */
export interface MeasuredRow {
  /** Line of the file where it begins, from 1. */
  readonly line: number;
  readonly code: string;
  /** Left out where the file has no names; a new finish then takes its code as its name. */
  readonly name?: string;
  readonly names?: Readonly<Record<string, string>>;
  readonly family?: string;
  readonly article?: string;
  readonly colour: GivenColour;
  /** sRGB hex of the approved screen colour. */
  readonly display?: string;
  readonly gloss?: GlossReading;
  readonly tags?: readonly string[];
  readonly supplier?: string;
  readonly note?: string;
}

/** A line that is refused, and why. */
export interface RefusedRow {
  readonly line: number;
  /** Code of the finish, where it is readable. */
  readonly finish: string | null;
  readonly code: ProblemCode;
  readonly message: string;
}

/** The contents of a file: each line is either read or refused. */
export interface ImportReading {
  readonly format: 'csv' | 'cgats' | 'cxf';
  readonly rows: readonly MeasuredRow[];
  readonly refused: readonly RefusedRow[];
}

/** Values that apply where the file gives none. */
export interface ViewingDefaults {
  readonly illuminant?: string;
  readonly observer?: string;
  readonly geometry?: string;
}

/** Finishes in one file: an import is one transaction, and a person has to read its dry run. */
export const MOST_ROWS = 20_000;

/** Records a problem for its line; other errors are faults of the program and are thrown again. */
export function refuseRow(line: number, finish: string | null, error: unknown): RefusedRow {
  if (error instanceof Problem)
    return { line, finish: finish?.slice(0, 100) ?? null, code: error.code, message: error.message };
  throw error;
}

/**
 * Reads rows one by one and collects refused rows separately.
 * @throws Problem `import-unreadable` when there are none, or too many
 */
export function collectRows<T>(
  format: ImportReading['format'],
  items: readonly T[],
  about: (item: T) => { readonly line: number; readonly finish: string | null },
  read: (item: T) => MeasuredRow,
): ImportReading {
  if (items.length === 0 || items.length > MOST_ROWS) {
    throw new Problem('import-unreadable', {
      detail:
        items.length === 0
          ? IMPORT_PROBLEMS['import-unreadable'].noRows
          : IMPORT_PROBLEMS['import-unreadable'].tooManyRows(items.length, MOST_ROWS),
      expected: `1 to ${MOST_ROWS} rows`,
      received: items.length,
    });
  }
  const rows: MeasuredRow[] = [];
  const refused: RefusedRow[] = [];
  for (const item of items) {
    try {
      rows.push(read(item));
    } catch (error) {
      const { line, finish } = about(item);
      refused.push(refuseRow(line, finish, error));
    }
  }
  return { format, rows, refused };
}

/** Steps between the least and the greatest wavelength: more than any spectrum has, and few enough for the memory. */
const MOST_STEPS = 500;

/**
 * Makes a spectrum of single readings. The step is the least distance of two wavelengths. A missing or empty (null)
 * reading leaves a gap, which the check of the spectrum refuses. Empty ends are left off: a file has one set of columns
 * for instruments of different range.
 * @param readings nm and reflectance, in any order
 * @returns null without any reading
 * @throws Problem `spectrum-unreadable`
 */
export function gatherSpectrum(
  readings: readonly (readonly [nm: number, value: number | null])[],
): GivenColour['spectrum'] | null {
  const sorted = [...readings].sort(([a], [b]) => a - b);
  const first = sorted.findIndex(([, value]) => value !== null);
  if (first < 0) return null;
  const kept = sorted.slice(first, sorted.findLastIndex(([, value]) => value !== null) + 1);
  const steps = kept.slice(1).map(([nm], i) => nm - kept[i]![0]);
  const stepNm = steps.length > 0 ? Math.min(...steps) : 1;
  const startNm = kept[0]![0];
  const count = (kept.at(-1)![0] - startNm) / stepNm + 1;
  if (!(stepNm > 0) || count > MOST_STEPS || kept.some(([nm]) => !Number.isInteger((nm - startNm) / stepNm))) {
    throw new Problem('spectrum-unreadable', {
      detail: COLOUR_PROBLEMS['spectrum-unreadable'].unevenSteps,
      expected: 'even steps of 5, 10 or 20 nm',
      received: steps.slice(0, 10),
      where: '/colour/spectrum',
    });
  }
  const values: (number | null)[] = Array(count).fill(null);
  for (const [nm, value] of kept) values[(nm - startNm) / stepNm] = value;
  return { startNm, stepNm, values };
}

const NUMBER = /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d{1,3})?$/i;

/**
 * Reads a number from a text file, with a decimal point; a comma counts as one only where `decimalComma` says so.
 * @throws Problem `invalid-field`
 */
export function readNumber(text: string, what: string, decimalComma = false): number {
  const plain = decimalComma ? text.replace(',', '.') : text;
  if (NUMBER.test(plain)) return Number(plain);
  const comma = text.includes(',') && !decimalComma;
  throw new Problem('invalid-field', {
    detail: CALL_PROBLEMS['invalid-field'][comma ? 'decimalComma' : 'notANumber'](what, text.slice(0, 30)),
    expected: 'a number',
    received: text.slice(0, 30),
    where: what,
  });
}

/**
 * Converts the spellings of illuminant, observer and geometry in files of the trade to ours: “2 degree”, `2_Degree` and
 * 2° are `2deg`; `Specular_Included`, SCI and d/8:i are `di:8`; 0/45 is `45:0`. `2_Degree` and `Specular_Included` are
 * from the CxF3 schema. 0/45, 45/0 and “sphere (specular included or excluded)” are the standard's own words for
 * CGATS's MEASUREMENT_GEOMETRY; it also wants the kind of measurement and the aperture there (Little CMS,
 * `cmscgats.c`). The others are common practice. Unknown words stay as they are, and are refused with the colour. So do
 * a sphere (d/8) that does not say whether the reflection is included, and a measurement in transmission.
 */
export function tidyViewing(said: ViewingDefaults, defaults: ViewingDefaults): ViewingDefaults {
  const illuminant = said.illuminant ? tidyIlluminant(said.illuminant) : defaults.illuminant;
  const observer = said.observer ? tidyObserver(said.observer) : defaults.observer;
  const geometry = said.geometry ? tidyGeometry(said.geometry, defaults.geometry) : defaults.geometry;
  return {
    ...(illuminant !== undefined && { illuminant }),
    ...(observer !== undefined && { observer }),
    ...(geometry !== undefined && { geometry }),
  };
}

function tidyIlluminant(text: string): string {
  const [, number] = /^(?:cie\s*)?d[ _-]?(\d\d)(?:00)?$/i.exec(text.trim()) ?? [];
  return number ? `D${number}` : text.trim();
}

function tidyObserver(text: string): string {
  const [, degrees] = /^(2|10)(?:\.0)?[ _]*(?:°|deg|degrees?|grad)?$/i.exec(text.trim()) ?? [];
  if (degrees) return `${degrees}deg`;
  if (/1931/.test(text)) return '2deg';
  return /1964/.test(text) ? '10deg' : text.trim();
}

const SPHERE = 'd:8';

function tidyGeometry(text: string, otherwise: string | undefined): string {
  const plain = text.toLowerCase().replace(/[\s°]/g, '').replaceAll('/', ':');
  if (/transmission|transmissive/.test(plain)) return text.trim();
  if (/(?<![\d.])(45[acx]?:0|0:45[acx]?)(?![\d.])/.test(plain)) return '45:0';
  if (/specular_?included|sci|rspin|^di:8$|^8:di$|^d:8:?i$/.test(plain)) return 'di:8';
  if (/specular_?excluded|sce|rspex|^de:8$|^8:de$|^d:8:?e$/.test(plain)) return 'de:8';
  // the caller decides for a sphere that does not say whether the reflection is included
  if (/^(d:8|8:d|d:0|0:d)$/.test(plain)) return otherwise ?? SPHERE;
  return text.trim();
}
