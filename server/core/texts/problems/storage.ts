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
  'storage-full': {
    call: 'The disk is full, so Dyeworks saved nothing. Free space on the disk of the data folder, or raise its quota, then try again.',
    start: (folder: string) =>
      `Dyeworks cannot start, because the disk of the data folder ${folder} is full. Free space, or raise the quota.`,
  },
  'storage-read-only': {
    call: 'The data folder is read-only, so Dyeworks saved nothing. Make it writable, then try again.',
    start: (folder: string) =>
      `Dyeworks cannot start, because the data folder ${folder} is read-only. Make it writable, or set DYEWORKS_DATA to another folder.`,
  },
  'storage-not-permitted': {
    call: 'Dyeworks has no permission for a file of its data folder, so it saved nothing. Let its user read and write the whole folder, then try again. The log names the file.',
    start: (folder: string) =>
      `Dyeworks cannot start, because it may not write to the data folder ${folder}. Let its user read and write the whole folder, or set DYEWORKS_DATA to another folder.`,
  },
  'storage-failed': {
    call: 'The disk of the data folder reports an error, so Dyeworks saved nothing. Check the disk, then try again. The log has the error.',
    start: (folder: string) =>
      `Dyeworks cannot start, because it cannot open the files of the data folder ${folder}. Check the disk and the setting DYEWORKS_DATA.`,
  },
  'storage-busy': {
    call: 'Another program locks the database. Try again. If it stays locked, end that program; it may be a backup.',
    start: (folder: string) =>
      `Dyeworks cannot start, because another program locks the database in ${folder}. End that program, and start again.`,
  },
  'database-damaged': {
    call: 'The database is damaged. Stop Dyeworks, restore the data folder from a backup, and run “dyeworks check”.',
    start: (folder: string) =>
      `Dyeworks cannot start, because the database in ${folder} is damaged. Restore the folder from a backup, and run “dyeworks check”.`,
  },
  'database-newer': 'A newer Dyeworks has changed this database. Start that version, or use another data folder.',
  'file-lost': {
    call: 'A file of this is missing from the data folder. Run “dyeworks check” to see which, then restore it from a backup or upload it again.',
    start: (folder: string) =>
      `Dyeworks cannot start, because a file is missing from ${folder}. Restore the folder from a backup, and run “dyeworks check”.`,
  },
} as const satisfies ProblemTexts;
