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

/** Decisions on a finish end with it: another one under its code has none, even one that looks the same. */
export async function deleteFinishApprovals(tx: Kysely<Tables>, finish_key: string): Promise<void> {
  await tx.deleteFrom('approvals').where('subject', '=', finish_key).execute();
}

/** Decisions on the variants of a product end with it. */
export async function deleteVariantApprovals(tx: Kysely<Tables>, product_key: string): Promise<void> {
  // 0 is the character after the slash: all subjects that begin with the product's code and a slash
  await tx
    .deleteFrom('approvals')
    .where('subject', '>', `${product_key}/`)
    .where('subject', '<', `${product_key}0`)
    .execute();
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
