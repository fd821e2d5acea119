import type { Kysely } from 'kysely';
import type { Approval, Subject } from '../../server/core/approval/approval.ts';
import { foldCode } from '../../server/core/codes.ts';
import type { Stores } from '../../server/core/ports/stores.ts';
import type { Tables } from '../tables.ts';

export function createApprovalStore(db: Kysely<Tables>): Pick<Stores, 'listApprovals' | 'addApproval'> {
  return {
    listApprovals: (subject) => listApprovals(db, keyOf(subject)),

    addApproval(subject, decide) {
      return db.transaction().execute(async (tx) => {
        const key = keyOf(subject);
        const approval = decide(await listApprovals(tx, key));
        await tx
          .insertInto('approvals')
          .values({ subject: key, data: JSON.stringify(approval) })
          .execute();
        return approval;
      });
    },
  };
}

/** A code holds no slash, so that the two kinds of subject never meet. */
function keyOf(subject: Subject): string {
  return 'finish' in subject ? foldCode(subject.finish) : `${foldCode(subject.product)}/${foldCode(subject.variant)}`;
}

async function listApprovals(db: Kysely<Tables>, subject: string): Promise<Approval[]> {
  const rows = await db
    .selectFrom('approvals')
    .select('data')
    .where('subject', '=', subject)
    .orderBy('ordinal')
    .execute();
  return rows.map((row) => JSON.parse(row.data) as Approval);
}
