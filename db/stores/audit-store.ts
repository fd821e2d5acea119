import type { Kysely } from 'kysely';
import type { AuditEntry, AuditRecord } from '../../server/core/access/audit.ts';
import { foldCode } from '../../server/core/codes.ts';
import type { AccessStore } from '../../server/core/ports/access.ts';
import type { Tables } from '../tables.ts';
import { atomically, recordIn } from '../transactions.ts';
import { writeRecord } from '../write-record.ts';

type AuditStore = Pick<AccessStore, 'recordIn' | 'addRecord' | 'listRecords' | 'listLatest'>;

export function createAuditStore(db: Kysely<Tables>): AuditStore {
  const select = () => db.selectFrom('audit').select(['entry', 'record', 'digest']);
  return {
    recordIn,

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

function readEntry(row: { entry: number; record: string; digest: string }): AuditEntry {
  return { entry: row.entry, ...(JSON.parse(row.record) as AuditRecord), digest: row.digest };
}
