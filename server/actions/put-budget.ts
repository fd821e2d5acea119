import { BUDGETS, type Budget, readBudget } from '../core/product/budgets.ts';
import type { Context } from './context.ts';

/** Budgets the studio has set, then the built-in ones. */
export async function listBudgets({ stores }: Pick<Context, 'stores'>): Promise<Budget[]> {
  return [...(await stores.listBudgets()), ...BUDGETS];
}

/** @throws Problem `invalid-field`, `unknown-field`, `invalid-name` */
export async function putBudget(
  { stores }: Pick<Context, 'stores'>,
  name: string,
  given: object,
): Promise<{ readonly created: boolean; readonly budget: Budget }> {
  const budget = readBudget({ ...given, name });
  return { created: await stores.putBudget(budget), budget };
}
