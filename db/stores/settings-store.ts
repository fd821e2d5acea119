import type { Kysely } from 'kysely';
import { foldCode } from '../../server/core/codes.ts';
import type { PictureSet } from '../../server/core/picture/picture-set.ts';
import type { Stores } from '../../server/core/ports/stores.ts';
import type { Budget } from '../../server/core/product/budgets.ts';
import type { Tables } from '../tables.ts';
import { atomically } from '../transactions.ts';

type SettingsStore = Pick<
  Stores,
  'listBudgets' | 'putBudget' | 'deleteBudget' | 'listPictureSets' | 'putPictureSet' | 'deletePictureSet'
>;

/** Budgets and picture sets that people define. The built-in ones are in no table. */
export function createSettingsStore(db: Kysely<Tables>): SettingsStore {
  return {
    async listBudgets() {
      const rows = await db.selectFrom('budgets').select('data').orderBy('budget').execute();
      return rows.map((row) => JSON.parse(row.data) as Budget);
    },

    putBudget(budget) {
      return atomically(db, async (tx) => {
        const known = await tx
          .selectFrom('budgets')
          .select('budget')
          .where('budget', '=', budget.name)
          .executeTakeFirst();
        const data = JSON.stringify(budget);
        await tx
          .insertInto('budgets')
          .values({ budget: budget.name, data })
          .onConflict((on) => on.column('budget').doUpdateSet({ data }))
          .execute();
        return known === undefined;
      });
    },

    async deleteBudget(name) {
      await atomically(db, (tx) => tx.deleteFrom('budgets').where('budget', '=', name).execute());
    },

    async listPictureSets() {
      const rows = await db.selectFrom('picture_sets').select('data').orderBy('set_key').execute();
      return rows.map((row) => JSON.parse(row.data) as PictureSet);
    },

    putPictureSet(set) {
      return atomically(db, async (tx) => {
        const set_key = foldCode(set.code);
        const known = await tx
          .selectFrom('picture_sets')
          .select('set_key')
          .where('set_key', '=', set_key)
          .executeTakeFirst();
        const data = JSON.stringify(set);
        await tx
          .insertInto('picture_sets')
          .values({ set_key, data })
          .onConflict((on) => on.column('set_key').doUpdateSet({ data }))
          .execute();
        return known === undefined;
      });
    },

    async deletePictureSet(code) {
      const gone = await atomically(db, (tx) =>
        tx.deleteFrom('picture_sets').where('set_key', '=', foldCode(code)).executeTakeFirst(),
      );
      return gone.numDeletedRows > 0n;
    },
  };
}
