import type { ArchiveDifference, ArchiveKind } from '../../server/core/archive/archive.ts';
import { count } from '../../server/core/texts/format-text.ts';

const KINDS: Readonly<Record<ArchiveKind, readonly [one: string, more: string]>> = {
  line: ['line', 'lines'],
  product: ['product', 'products'],
  finish: ['finish', 'finishes'],
  article: ['article', 'articles'],
  budget: ['size budget', 'size budgets'],
  'picture-set': ['set of pictures', 'sets of pictures'],
};

/** Texts about moving a line: its archive on the line's page, and the import on the home page. */
export const archiveTexts = {
  export: 'Export line',
  exportNote:
    'One file with its products, models, finishes, schedules, approvals and deliveries. Another Dyeworks can import it.',

  import: 'Import line',
  reading: (file: string) => `Dyeworks is reading ${file} and compares it with this service.`,
  heading: (line: string) => `Import of the line ${line}`,
  from: (date: string, version: string) => `Exported on ${date} by Dyeworks ${version}.`,
  counts: (created: number, same: number) =>
    created === 0 && same === 0 ? 'The archive is empty.' : `${count(created, 'thing')} new, ${same} the same already.`,
  unchanged: 'Everything in this archive is here already. There is nothing to import.',
  conflicts: 'These exist already and differ:',
  rest: (more: number) => `and ${more} more`,
  decide: (kind: ArchiveKind, conflicts: number) =>
    `${count(conflicts, ...KINDS[kind])} ${conflicts === 1 ? 'differs' : 'differ'}`,
  keep: 'Keep the existing',
  replace: 'Replace',
  fixed: 'A delivered file or a stored model differs, or the product is in another line. It can only be kept.',
  kind: (kind: ArchiveKind) => KINDS[kind][0],
  differs: {
    definition: 'definition',
    positions: 'positions',
    range: 'range',
    rules: 'rules',
    line: 'line',
    models: 'models',
    slots: 'slots',
    schedule: 'schedule',
    preparation: 'preparation',
    deliveries: 'deliveries',
    withdrawals: 'withdrawn deliveries',
    approvals: 'approvals',
  } satisfies Record<ArchiveDifference, string>,
  start: 'Import',
  working: 'Dyeworks is importing the line.',
  done: (line: string) => `The line ${line} is imported.`,
  open: (line: string) => `Open ${line}`,
} as const;
