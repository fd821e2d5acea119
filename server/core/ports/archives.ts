import type { ArchiveDecisions, ArchiveEntry, ArchiveStatement, DecidedEntry } from '../archive/archive.ts';
import type { Change } from '../history/history.ts';

/** What an archive of a line consists of. */
export interface CollectedLine {
  /** The line's code as it is stored. */
  readonly line: string;
  /** `archive.json`, the first file. */
  readonly statement: { readonly name: string; readonly bytes: Uint8Array };
  readonly entries: readonly CollectedFile[];
  /** Deletes the temporary files. */
  discard(): Promise<void>;
}

export interface CollectedFile {
  /** Path in the archive. */
  readonly name: string;
  /** Path on disk. */
  readonly path: string;
  readonly sha256: string;
  readonly bytes: number;
  /** Whether compressing it is worth the time. */
  readonly packed: boolean;
}

/** A zip that is open. */
export interface OpenedZip {
  readonly paths: readonly string[];
  /** Unpacks one file, chunk by chunk. @throws Problem `archive-unreadable`, `archive-too-large`, `archive-missing-file` */
  stream(path: string): AsyncIterable<Uint8Array>;
  close(): void;
}

/** The records of an archive in a database of their own, brought up to date and checked. */
export interface StagedLine {
  readonly line: string;
  /** Digests that the records name. */
  readonly digests: ReadonlySet<string>;
  /** Compares them with what is stored. */
  compare(): Promise<readonly ArchiveEntry[]>;
  /**
   * Stores them in one transaction: all or nothing. Content files must be adopted before.
   * @returns what happened to each thing @throws Problem `archive-conflicts`
   */
  store(decisions: ArchiveDecisions, change: Change, source: ImportSource): Promise<readonly DecidedEntry[]>;
  discard(): Promise<void>;
}

/** Where imported things come from. */
export interface ImportSource extends Pick<ArchiveStatement, 'line' | 'version' | 'at'> {
  /** SHA-256 of `archive.json`, which states all other digests. */
  readonly sha256: string;
}

/** An import of an archive that has changed something. */
export interface ArchiveImport {
  /** From 1. */
  readonly import: number;
  /** ISO 8601. */
  readonly at: string;
  readonly person: string | null;
  readonly source: ImportSource;
  readonly entries: readonly DecidedEntry[];
}

/** Archives of lines. */
export interface Archives {
  /** @throws Problem `unknown-line-code`, `file-lost` */
  collect(line: string): Promise<CollectedLine>;
  /** @throws Problem `archive-unreadable`, `archive-path`, `archive-too-large` */
  open(path: string): Promise<OpenedZip>;
  /** Migrations that this version knows, in order. */
  readonly schemas: readonly string[];
  /**
   * Reads records into a database of their own.
   * @param tables text of each table's file, in the order of the archive
   * @throws Problem `archive-records`, `archive-missing-file`
   */
  stage(
    statement: ArchiveStatement,
    tables: AsyncIterable<{ readonly table: string; readonly text: AsyncIterable<Uint8Array> }>,
  ): Promise<StagedLine>;
  /** The latest first. */
  listImports(): Promise<ArchiveImport[]>;
}
