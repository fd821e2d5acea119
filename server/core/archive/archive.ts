import { Problem } from '../problems.ts';
import { ARCHIVE_PROBLEMS } from '../texts/problems/archive.ts';

// The archive of a line: a zip with `archive.json`, which states every other file with its SHA-256; the records of the line as
// JSON, one row of a table per line, under `records/`; and the content files that they name, under `files/`.

export const ARCHIVE_FORMAT = 'dyeworks-archive/1';
export const STATEMENT = 'archive.json';

export interface ArchivedFile {
  /** `records/{table}.jsonl`, or `files/{two digits}/{digest}`. */
  readonly path: string;
  readonly sha256: string;
  readonly bytes: number;
}

/** What `archive.json` states. */
export interface ArchiveStatement {
  readonly format: typeof ARCHIVE_FORMAT;
  /** Version of the program that made it. */
  readonly version: string;
  /** The last migration of the database that the records come from; older ones are brought up to date. */
  readonly schema: string;
  /** ISO 8601: the archive has the state of this moment. */
  readonly at: string;
  readonly line: string;
  readonly files: readonly ArchivedFile[];
}

/** Kinds of things that an archive brings and that may exist already. */
export const ARCHIVE_KINDS = ['line', 'product', 'finish', 'article', 'budget', 'picture-set'] as const;
export type ArchiveKind = (typeof ARCHIVE_KINDS)[number];

/** `keep`: what is stored stays, and the archive's is left out. `replace`: the archive's takes its place. */
export const DECISIONS = ['keep', 'replace'] as const;
export type ArchiveDecisions = Readonly<Partial<Record<ArchiveKind, (typeof DECISIONS)[number]>>>;

/** Parts in which a stored thing differs from that of the archive. */
export const DIFFERENCES = [
  'definition',
  'positions',
  'range',
  'rules',
  'line',
  'models',
  'slots',
  'schedule',
  'preparation',
  'deliveries',
  'withdrawals',
  'approvals',
] as const;
export type ArchiveDifference = (typeof DIFFERENCES)[number];

export interface ArchiveEntry {
  readonly kind: ArchiveKind;
  readonly code: string;
  readonly state: 'new' | 'same' | 'conflict';
  readonly differs: readonly ArchiveDifference[];
  /** False where replacing would change what never changes: delivered files, models by their number, another line's product. */
  readonly replaceable: boolean;
}

/** One thing of an archive, and what happens to it. */
export interface DecidedEntry extends ArchiveEntry {
  readonly outcome: 'create' | 'none' | 'keep' | 'replace' | 'undecided';
}

/** Decides what happens to each thing. A conflict without a decision, or one that cannot be replaced as asked, is undecided. */
export function decideEntries(entries: readonly ArchiveEntry[], decisions: ArchiveDecisions): readonly DecidedEntry[] {
  return entries.map((entry): DecidedEntry => {
    if (entry.state === 'new') return { ...entry, outcome: 'create' };
    if (entry.state === 'same') return { ...entry, outcome: 'none' };
    const decision = decisions[entry.kind];
    const isPossible = decision === 'keep' || (decision === 'replace' && entry.replaceable);
    return { ...entry, outcome: isPossible ? decision : 'undecided' };
  });
}

const PATH = /^(?:records\/[a-z_]{1,40}\.jsonl|files\/([0-9a-f]{2})\/(\1[0-9a-f]{62}))$/;
const DIGEST = /^[0-9a-f]{64}$/;

/**
 * Reads `archive.json`.
 * @param schemas the migrations that this version knows
 * @throws Problem `archive-format`, `archive-newer`
 */
export function readStatement(text: string, schemas: readonly string[]): ArchiveStatement {
  let read: Partial<Record<keyof ArchiveStatement, unknown>> | null;
  try {
    read = JSON.parse(text) as typeof read;
  } catch {
    throw wrongFormat('/');
  }
  const { format, version, schema, at, line, files } = read ?? {};
  if (typeof format !== 'string' || !/^dyeworks-archive\/\d{1,6}$/.test(format)) throw wrongFormat('/format');
  if (typeof version !== 'string' || version.length > 64) throw wrongFormat('/version');
  if (format !== ARCHIVE_FORMAT) throw newer(format, version);
  if (typeof schema !== 'string' || schema.length > 100) throw wrongFormat('/schema');
  if (!schemas.includes(schema)) throw newer(format, version);
  if (typeof at !== 'string' || Number.isNaN(Date.parse(at)) || at.length > 40) throw wrongFormat('/at');
  if (typeof line !== 'string' || line.length > 64) throw wrongFormat('/line');
  if (!Array.isArray(files)) throw wrongFormat('/files');
  const paths = new Set<string>();
  for (const [index, file] of (files as readonly (Partial<ArchivedFile> | null)[]).entries()) {
    const { path, sha256, bytes } = file ?? {};
    const named = typeof path === 'string' ? PATH.exec(path) : null;
    const isWhole = Number.isSafeInteger(bytes) && bytes! >= 0 && typeof sha256 === 'string' && DIGEST.test(sha256);
    // a content file has its digest as its name
    if (!named || !isWhole || (named[2] !== undefined && named[2] !== sha256)) throw wrongFormat(`/files/${index}`);
    if (paths.has(path!)) throw wrongFormat(`/files/${index}/path`);
    paths.add(path!);
  }
  return { format, version, schema, at, line, files: files as readonly ArchivedFile[] };
}

export function wrongFormat(where: string): Problem {
  return new Problem('archive-format', { detail: ARCHIVE_PROBLEMS['archive-format'](where), where });
}

function newer(format: string, version: string): Problem {
  const detail = ARCHIVE_PROBLEMS['archive-newer'](format, version);
  return new Problem('archive-newer', { detail, expected: ARCHIVE_FORMAT, received: `${format} of ${version}` });
}
