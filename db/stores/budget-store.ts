import type { Kysely } from 'kysely';
import type { Stores } from '../../server/core/ports/stores.ts';
import type { Budget } from '../../server/core/product/budgets.ts';
import type { Tables } from '../tables.ts';

export function createBudgetStore(db: Kysely<Tables>): Pick<Stores, 'listBudgets' | 'putBudget' | 'deleteBudget'> {
  return {
    async listBudgets() {
      const rows = await db.selectFrom('budgets').select('data').orderBy('budget').execute();
      return rows.map((row) => JSON.parse(row.data) as Budget);
    },

    putBudget(budget) {
      return db.transaction().execute(async (tx) => {
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
      await db.deleteFrom('budgets').where('budget', '=', name).execute();
    },
  };
}
