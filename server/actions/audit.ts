import { stringify } from 'csv-stringify/sync';
import { type AuditEntry, FIRST_DIGEST, textOfEntry } from '../core/access/audit.ts';
import type { Access } from './access.ts';
import { digestBytes } from './caching.ts';

/** Entries that are read at a time. */
const PAGE = 1000;

/** All entries, oldest first, page by page. */
async function* readAll({ store }: Pick<Access, 'store'>): AsyncGenerator<readonly AuditEntry[]> {
  for (let after = 0; ; ) {
    const entries = await store.listRecords(after, PAGE);
    if (entries.length === 0) return;
    yield entries;
    after = entries.at(-1)!.entry;
  }
}

const COLUMNS = [
  'entry',
  'at',
  'by',
  'account',
  'name',
  'address',
  'what',
  'about',
  'status',
  'refusal',
  'digest',
] as const;

/** The audit as CSV (RFC 4180). A cell that a spreadsheet would take for a formula begins with an apostrophe. */
export async function* writeCsv(access: Pick<Access, 'store'>): AsyncGenerator<string> {
  yield stringify([COLUMNS]);
  for await (const entries of readAll(access)) {
    const rows = entries.map((entry) => ({
      ...entry,
      about: Object.entries(entry.about)
        .map(([key, value]) => `${key}=${value}`)
        .join('; '),
    }));
    yield stringify(rows, { columns: [...COLUMNS], escape_formulas: true });
  }
}

/** The audit as JSON lines, which `verifyAudit` can check elsewhere. */
export async function* writeJsonLines(access: Pick<Access, 'store'>): AsyncGenerator<string> {
  for await (const entries of readAll(access)) yield entries.map((entry) => `${JSON.stringify(entry)}\n`).join('');
}

export interface AuditCheck {
  readonly entries: number;
  /** Digest of the last entry. Kept elsewhere, it proves later that no entry at the end is missing. */
  readonly digest: string;
  /** The first entry that does not follow from the one before it; null when all do. */
  readonly broken: number | null;
}

/** Checks the chain of digests from the first entry on. */
export async function verifyAudit(access: Pick<Access, 'store'>): Promise<AuditCheck> {
  let previous = FIRST_DIGEST;
  let count = 0;
  for await (const entries of readAll(access)) {
    for (const { entry, digest, ...record } of entries) {
      const isWhole = entry === count + 1 && digest === digestBytes(textOfEntry(entry, record, previous));
      if (!isWhole) return { entries: count, digest: previous, broken: count + 1 };
      previous = digest;
      count = entry;
    }
  }
  return { entries: count, digest: previous, broken: null };
}
