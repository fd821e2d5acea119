import type { ProblemTexts } from '../../problems.ts';

/** Texts about archives of lines. */
export const ARCHIVE_PROBLEMS = {
  'archive-format': (where: string) =>
    `The file is not a complete archive of a line: archive.json is missing or damaged at ${where}. Export the line again.`,
  'archive-newer': (format: string, version: string) =>
    `The archive has the format ${format} of Dyeworks ${version}, which this version cannot read. Import it with a newer Dyeworks.`,
  'archive-digest': (path: string) =>
    `The archive is damaged: ${path} does not match the digest that archive.json states. Export the line again, and check the transfer.`,
  'archive-records': (table: string, line: number) =>
    `The records of the archive contradict each other or are damaged: ${table}${line > 0 ? `, line ${line}` : ''}. Export the line again.`,
  'archive-conflicts': (conflicts: number, kinds: readonly string[]) =>
    `${conflicts === 1 ? 'One thing of the archive exists' : `${conflicts} things of the archive exist`} already and differ${conflicts === 1 ? 's' : ''}: ${kinds.join(', ')}. State keep or replace for each kind. A product cannot be replaced where its deliveries or models differ.`,
} as const satisfies ProblemTexts;
