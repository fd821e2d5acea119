import type { ProblemTexts } from '../../problems.ts';

/** Texts about backups of a data folder. */
export const BACKUP_PROBLEMS = {
  'folder-not-empty': (folder: string) => `The folder ${folder} is not empty. Name a folder that does not exist yet.`,
  'folder-busy': (folder: string) =>
    `Another program fills the folder ${folder}. Wait until it ends, or name another folder.`,
  'backup-damaged': {
    none: (folder: string) =>
      `The folder ${folder} has no backup.json, so it is not a complete backup. Use another backup.`,
    file: (path: string) =>
      `The backup is damaged: ${path} is missing, or its content does not match its digest. Use another backup.`,
    source: (digests: readonly string[]) =>
      `Dyeworks made no backup, because the data folder lacks files or has damaged ones: ${digests.slice(0, 3).join(', ')}${digests.length > 3 ? ` and ${digests.length - 3} more` : ''}. Run “dyeworks check” to see what they belong to. Upload them again, or restore an older backup.`,
  },
  'backup-newer': (format: string, version: string) =>
    `The backup has the format ${format} of Dyeworks ${version}, which this version cannot read. Restore it with a newer Dyeworks.`,
} as const satisfies ProblemTexts;
