import type { ProblemTexts } from '../../problems.ts';

/** The process that uses a data folder, as far as it is known. */
export interface FolderHolder {
  readonly pid: number;
  readonly host: string;
  /** ISO 8601. */
  readonly since: string;
}

/** Texts about the data folder, its disk and its database. */
export const STORAGE_PROBLEMS = {
  'data-folder-in-use': (folder: string, holder: FolderHolder | null) =>
    `Another Dyeworks uses the data folder ${folder}${holder ? ` (process ${holder.pid} on ${holder.host}, since ${holder.since})` : ''}. Stop it, or set DYEWORKS_DATA to another folder.`,
} as const satisfies ProblemTexts;
