import type { GlossReading } from '../finish/finish.ts';
import type { GivenColour } from '../finish/read-finish.ts';
import { Problem, type ProblemCode } from '../problems.ts';
import { IMPORT_PROBLEMS } from '../texts/problems/import.ts';

/** One finish as a file states it, before it is judged. What a row leaves out, a known finish keeps. */
export interface MeasuredRow {
  /** Line of the file it begins on, from 1. */
  readonly line: number;
  readonly code: string;
  /** Left out where the file has no names; a new finish is then called by its code. */
  readonly name?: string;
  readonly names?: Readonly<Record<string, string>>;
  readonly family?: string;
  readonly article?: string;
  readonly colour: GivenColour;
  /** sRGB hex signed off for screens. */
  readonly display?: string;
  readonly gloss?: GlossReading;
  readonly tags?: readonly string[];
  readonly supplier?: string;
  readonly note?: string;
}

/** A line that is not taken, and why. */
export interface RefusedRow {
  readonly line: number;
  /** Code of the finish, where it could be read. */
  readonly finish: string | null;
  readonly code: ProblemCode;
  readonly message: string;
}

/** What a file says, each line of it either read or refused. */
export interface ImportReading {
  readonly format: 'csv' | 'cgats' | 'cxf';
  readonly rows: readonly MeasuredRow[];
  readonly refused: readonly RefusedRow[];
}

/** What holds where the file does not say. */
export interface ViewingDefaults {
  readonly illuminant?: string;
  readonly observer?: string;
  readonly geometry?: string;
}

/** Finishes in one file: an import is one transaction, and a person is to read its dry run. */
export const MOST_ROWS = 20_000;

/** Puts a problem down against its line; other errors are faults of the program and go on. */
export function refuseRow(line: number, finish: string | null, error: unknown): RefusedRow {
  if (error instanceof Problem)
    return { line, finish: finish?.slice(0, 100) ?? null, code: error.code, message: error.message };
  throw error;
}

/**
 * Reads rows one by one, keeping what is refused apart.
 * @throws Problem `import-unreadable` when there are none, or more than are taken
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
