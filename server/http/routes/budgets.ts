import type { FastifyInstance } from 'fastify';
import type { Context } from '../../actions/context.ts';
import { listBudgets, putBudget } from '../../actions/put-budget.ts';
import type { BudgetListAnswer } from '../answers.ts';
import { BudgetBody } from '../contracts/repair.ts';

export function addBudgetRoutes(app: FastifyInstance, context: Context): void {
  app.get(
    '/api/budgets',
    { schema: { summary: 'Budgets models are held against, each with its source', tags: ['preparation'] } },
    async (): Promise<BudgetListAnswer> => ({ budgets: await listBudgets(context) }),
  );

  app.put<{ Params: { budget: string }; Body: BudgetBody }>(
    '/api/budgets/:budget',
    { schema: { summary: 'Set a budget of the studio’s own', tags: ['preparation'], body: BudgetBody } },
    async ({ params, body }, reply) => {
      const { created, budget } = await putBudget(context, params.budget, body);
      return reply.status(created ? 201 : 200).send(budget);
    },
  );

  app.delete<{ Params: { budget: string } }>(
    '/api/budgets/:budget',
    { schema: { summary: 'Take back a budget of the studio’s own', tags: ['preparation'] } },
    async ({ params }, reply) => {
      await context.stores.deleteBudget(params.budget);
      return reply.status(204).send();
    },
  );
}
