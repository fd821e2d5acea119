import { createHash } from 'node:crypto';
import {
  type ArchiveDecisions,
  type ArchivedFile,
  type ArchiveStatement,
  type DecidedEntry,
  decideEntries,
  readStatement,
  STATEMENT,
  wrongFormat,
} from '../core/archive/archive.ts';
import type { Author } from '../core/history/history.ts';
import type { OpenedZip, StagedLine } from '../core/ports/archives.ts';
import { Problem } from '../core/problems.ts';
import { ARCHIVE_PROBLEMS } from '../core/texts/problems/archive.ts';
import { MODEL_PROBLEMS } from '../core/texts/problems/model.ts';
import type { Context } from './context.ts';

/** Of `archive.json`. Half a million files have about this. */
const STATEMENT_BYTES = 64 * 1024 * 1024;

export interface ImportReport {
  readonly line: string;
  /** ISO 8601: the state of the earlier store that the archive has. */
  readonly at: string;
  readonly version: string;
  readonly entries: readonly DecidedEntry[];
}

interface ImportOptions {
  /** Only lists what the import would do. */
  readonly dryRun: boolean;
  readonly decisions: ArchiveDecisions;
  readonly author: Author;
  readonly limitBytes: number;
}

type ArchiveContext = Pick<Context, 'archives' | 'files' | 'now'>;

/**
 * Imports the archive of a line: all of it, or nothing. It is written to a temporary file, every digest is compared, and the
 * records are checked in a database of their own, before anything is stored. Content files come first, so that the database never
 * names one that is missing; the sweep takes them if the rest fails.
 * @throws Problem `archive-…`; `archive-conflicts` where something exists already and the decisions do not cover it
 */
export async function importArchive(
  context: ArchiveContext,
  stream: AsyncIterable<Uint8Array>,
  { dryRun, decisions, author, limitBytes }: ImportOptions,
): Promise<ImportReport> {
  const { archives, files, now } = context;
  const received = await files.takeStream(stream, limitBytes);
  const unpacked = new Map<string, string>();
  let zip: OpenedZip | undefined;
  let staged: StagedLine | undefined;
  try {
    zip = await archives.open(received.path);
    const { statement, sha256 } = await openStatement(zip, archives.schemas);
    // all digests of the records before the first row is read, so that damage is not taken for a contradiction
    for (const file of statement.files) if (isRecords(file)) await readThrough(zip, file);
    staged = await archives.stage(statement, listTables(zip, statement));
    for (const file of statement.files) {
      if (isRecords(file)) continue;
      const isNeeded = !dryRun && staged.digests.has(file.sha256) && !(await files.has(file.sha256));
      if (!isNeeded) await readThrough(zip, file);
      else {
        const taken = await files.takeStream(checkDigest(zip, file), file.bytes);
        unpacked.set(file.sha256, taken.path);
      }
    }
    const { line, at, version } = statement;
    if (dryRun) return { line, at, version, entries: decideEntries(await staged.compare(), decisions) };
    requireDecided(decideEntries(await staged.compare(), decisions));
    for (const [digest, path] of unpacked) {
      unpacked.delete(digest);
      await files.adopt(path, digest);
    }
    const change = { ...author, how: 'imported', at: now().toISOString() } as const;
    const entries = await staged.store(decisions, change, { line, at, version, sha256 });
    return { line, at, version, entries };
  } finally {
    zip?.close();
    await staged?.discard();
    for (const path of [received.path, ...unpacked.values()]) await files.discard(path);
  }
}

/** @throws Problem `archive-conflicts` */
function requireDecided(entries: readonly DecidedEntry[]): void {
  const open = entries.filter(({ outcome }) => outcome === 'undecided');
  if (open.length === 0) return;
  const kinds = [...new Set(open.map(({ kind }) => kind))];
  throw new Problem('archive-conflicts', {
    detail: ARCHIVE_PROBLEMS['archive-conflicts'](open.length, kinds),
    expected: kinds.map((kind) => `${kind}=keep|replace`),
    findings: open.slice(0, 200),
  });
}

async function openStatement(zip: OpenedZip, schemas: readonly string[]) {
  if (!zip.paths.includes(STATEMENT)) throw wrongFormat('/');
  const chunks: Uint8Array[] = [];
  let bytes = 0;
  for await (const chunk of zip.stream(STATEMENT)) {
    bytes += chunk.length;
    if (bytes > STATEMENT_BYTES) throw wrongFormat('/files');
    chunks.push(chunk);
  }
  const whole = Buffer.concat(chunks);
  const statement = readStatement(whole.toString('utf8'), schemas);
  const stated = new Set([STATEMENT, ...statement.files.map(({ path }) => path)]);
  const missing = [...stated].find((path) => !zip.paths.includes(path));
  if (missing !== undefined) {
    throw new Problem('archive-missing-file', {
      detail: MODEL_PROBLEMS['archive-missing-file'].entry(missing),
      where: missing,
    });
  }
  const extra = zip.paths.find((path) => !stated.has(path));
  if (extra !== undefined) throw wrongFormat(`/files (${extra.slice(0, 200)})`);
  return { statement, sha256: createHash('sha256').update(whole).digest('hex') };
}

const isRecords = ({ path }: ArchivedFile) => path.startsWith('records/');

async function* listTables(zip: OpenedZip, { files }: ArchiveStatement) {
  for (const file of files) {
    if (isRecords(file))
      yield { table: file.path.slice('records/'.length, -'.jsonl'.length), text: checkDigest(zip, file) };
  }
}

/** @throws Problem `archive-digest` */
async function* checkDigest(zip: OpenedZip, { path, sha256, bytes }: ArchivedFile): AsyncGenerator<Uint8Array> {
  const hash = createHash('sha256');
  let read = 0;
  for await (const chunk of zip.stream(path)) {
    read += chunk.length;
    if (read > bytes) break;
    hash.update(chunk);
    yield chunk;
  }
  if (read === bytes && hash.digest('hex') === sha256) return;
  throw new Problem('archive-digest', { detail: ARCHIVE_PROBLEMS['archive-digest'](path), where: path });
}

async function readThrough(zip: OpenedZip, file: ArchivedFile): Promise<void> {
  for await (const _ of checkDigest(zip, file));
}
