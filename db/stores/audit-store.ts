import { createHash } from 'node:crypto';
import type { Kysely } from 'kysely';
import { type AuditEntry, type AuditRecord, FIRST_DIGEST, textOfEntry } from '../../server/core/access/audit.ts';
import { foldCode } from '../../server/core/codes.ts';
import type { AccessStore } from '../../server/core/ports/access.ts';
import type { Tables } from '../tables.ts';
import { atomically } from '../transactions.ts';

export function createAuditStore(db: Kysely<Tables>): Pick<AccessStore, 'addRecord' | 'listRecords' | 'listLatest'> {
  const select = () => db.selectFrom('audit').select(['entry', 'record', 'digest']);
  return {
    addRecord: (record) => atomically(db, (tx) => writeRecord(tx, record)),

    async listRecords(after, limit) {
      return (await select().where('entry', '>', after).orderBy('entry').limit(limit).execute()).map(readEntry);
    },

    async listLatest(before, limit, account) {
      let query = select().orderBy('entry', 'desc').limit(limit);
      if (before !== null) query = query.where('entry', '<', before);
      if (account !== null) query = query.where('account_key', '=', foldCode(account));
      return (await query.execute()).map(readEntry);
    },
  };
}

/** Adds an entry in the transaction of its change. */
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

function readEntry(row: { entry: number; record: string; digest: string }): AuditEntry {
  return { entry: row.entry, ...(JSON.parse(row.record) as AuditRecord), digest: row.digest };
}
