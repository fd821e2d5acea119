import type { Kysely } from 'kysely';
import type { Approval, Subject } from '../../server/core/approval/approval.ts';
import { foldCode } from '../../server/core/codes.ts';
import type { Stores } from '../../server/core/ports/stores.ts';
import type { Tables } from '../tables.ts';
import { atomically } from '../transactions.ts';

export function createApprovalStore(db: Kysely<Tables>): Pick<Stores, 'listApprovals' | 'addApproval'> {
  return {
    listApprovals: (subject) => listApprovals(db, keyOf(subject)),

    addApproval(subject, decide) {
      return atomically(db, async (tx) => {
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

/** Approvals end with their finish. Another finish that gets its code has none, even when it looks the same. */
export async function deleteFinishApprovals(tx: Kysely<Tables>, finish_key: string): Promise<void> {
  await tx.deleteFrom('approvals').where('subject', '=', finish_key).execute();
}

/** Approvals of variants end with their product. */
export async function deleteVariantApprovals(tx: Kysely<Tables>, product_key: string): Promise<void> {
  // 0 is the character after the slash: all subjects that begin with the product's code and a slash
  await tx
    .deleteFrom('approvals')
    .where('subject', '>', `${product_key}/`)
    .where('subject', '<', `${product_key}0`)
    .execute();
}

/** A code has no slash, so the two kinds of subject never share a key. */
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
