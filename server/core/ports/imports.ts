import type { ImportReading, ViewingDefaults } from '../import/measured-row.ts';
import type { ImportDefaults, ImportPlan, KnownFinishes } from '../import/plan-import.ts';

/** A measurement file as it arrived. */
export interface ImportFile {
  readonly bytes: Uint8Array;
  /** Encoding as the media type states it; null when it does not. */
  readonly charset: string | null;
  readonly viewing: ViewingDefaults;
}

export interface ImportRequest {
  readonly file: ImportFile;
  readonly defaults: ImportDefaults;
  /** Whether the finishes themselves are wanted, or only what would come of them. */
  readonly wantsFinishes: boolean;
  /** Hands over what is known of the codes in the file; asked once, after it has been read. */
  readonly recall: (codes: readonly string[]) => KnownFinishes;
}

export interface PlannedImport extends ImportPlan {
  readonly format: ImportReading['format'];
}

/**
 * Reads measurement files and works out what would come of them. Twenty thousand spectra take seconds, in which others
 * want answers: the implementer does no more at a time on the caller's thread than hand over `IMPORT_PART` rows.
 */
export interface Imports {
  /** Throws Problem `import-unreadable`, `text-encoding`. */
  plan(request: ImportRequest): Promise<PlannedImport>;
}

/** Rows, or finishes, that cross from thread to thread at once: with spectra of 36 readings about 2 ms of either. */
export const IMPORT_PART = 500;
