import type { ImportReading, ViewingDefaults } from '../import/measured-row.ts';
import type { ImportDefaults, ImportPlan, KnownFinishes } from '../import/plan-import.ts';

/** A measurement file as it arrived. */
export interface ImportFile {
  readonly bytes: Uint8Array;
  /** Encoding from the media type; null when it has none. */
  readonly charset: string | null;
  readonly viewing: ViewingDefaults;
  /** Names the columns of a CSV instead of its first row; `-` leaves one out. */
  readonly columns?: readonly string[] | undefined;
}

interface ImportRequest {
  readonly file: ImportFile;
  readonly defaults: ImportDefaults;
  /** Whether the caller needs the finishes themselves, or only the plan. */
  readonly wantsFinishes: boolean;
  /** Aborted when the caller leaves: the file is then no longer read. */
  readonly signal?: AbortSignal | undefined;
  /** Returns the known finishes with the codes in the file; called once, after the file has been read. */
  readonly recall: (codes: readonly string[]) => KnownFinishes | Promise<KnownFinishes>;
}

export interface PlannedImport extends ImportPlan {
  readonly format: ImportReading['format'];
}

/**
 * Reads measurement files and plans their import. Twenty thousand spectra take seconds, during which others want
 * answers. So the implementer does no more at a time on the caller's thread than hand over `IMPORT_PART` rows.
 */
export interface Imports {
  /** Throws Problem `import-unreadable`, `text-encoding`. */
  plan(request: ImportRequest): Promise<PlannedImport>;
}

/** Rows, or finishes, that one message between threads carries: with spectra of 36 readings about 2 ms for either. */
export const IMPORT_PART = 500;
