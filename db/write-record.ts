import { createHash } from 'node:crypto';
import type { Kysely } from 'kysely';
import { type AuditRecord, FIRST_DIGEST, textOfEntry } from '../server/core/access/audit.ts';
import { foldCode } from '../server/core/codes.ts';
import type { Tables } from './tables.ts';

/** Adds an entry of the audit in the transaction of its change. */
export async function writeRecord(tx: Kysely<Tables>, record: AuditRecord): Promise<void> {
  const last = await tx
    .selectFrom('audit')
    .select(['entry', 'digest'])
    .orderBy('entry', 'desc')
    .limit(1)
    .executeTakeFirst();
  const entry = (last?.entry ?? 0) + 1;
  const previous = last?.digest ?? FIRST_DIGEST;
  const digest = createHash('sha256')
    .update(textOfEntry(entry, record, previous))
    .digest('hex');
  const account_key = record.account === null ? null : foldCode(record.account);
  await tx
    .insertInto('audit')
    .values({ entry, at: record.at, account_key, record: JSON.stringify(record), previous, digest })
    .execute();
}
