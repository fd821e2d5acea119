import { type Kysely, sql } from 'kysely';
import type { Approval, Subject } from '../../server/core/approval/approval.ts';
import { foldCode } from '../../server/core/codes.ts';
import type { Stores } from '../../server/core/ports/stores.ts';
import type { Tables } from '../tables.ts';
import { atomically } from '../transactions.ts';

export function createApprovalStore(
  db: Kysely<Tables>,
): Pick<Stores, 'listApprovals' | 'listFinishApprovals' | 'listVariantApprovals' | 'addApproval'> {
  return {
    listApprovals: (subject) => listApprovals(db, keyOf(subject)),

    async listFinishApprovals() {
      const rows = await db
        .selectFrom('approvals')
        .select(['subject', 'data'])
        .where(sql<boolean>`instr(subject, '/') = 0`)
        .orderBy('ordinal')
        .execute();
      const byFinish = new Map<string, Approval[]>();
      for (const { subject, data } of rows) {
        byFinish.set(subject, [...(byFinish.get(subject) ?? []), JSON.parse(data) as Approval]);
      }
      return byFinish;
    },

    async listVariantApprovals(product) {
      const key = foldCode(product);
      const rows = await db
        .selectFrom('approvals')
        .select(['subject', 'data'])
        .where('subject', '>', `${key}/`)
        .where('subject', '<', afterVariants(key))
        .orderBy('ordinal')
        .execute();
      const byVariant = new Map<string, Approval[]>();
      for (const { subject, data } of rows) {
        const variant = subject.slice(product.length + 1);
        const known = byVariant.get(variant);
        if (known) known.push(JSON.parse(data) as Approval);
        else byVariant.set(variant, [JSON.parse(data) as Approval]);
      }
      return byVariant;
    },

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
  await tx
    .deleteFrom('approvals')
    .where('subject', '>', `${product_key}/`)
    .where('subject', '<', afterVariants(product_key))
    .execute();
}

/** 0 is the character after the slash: all subjects that begin with the product's code and a slash come before it. */
const afterVariants = (product_key: string) => `${product_key}0`;

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
