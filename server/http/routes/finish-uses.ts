import type { FastifyInstance } from 'fastify';
import type { Context } from '../../actions/context.ts';
import { findWhereUsed } from '../../actions/where-used.ts';
import type { WhereUsedAnswer } from '../answers.ts';

export function addFinishUsesRoute(app: FastifyInstance, context: Context): void {
  app.get<{ Params: { finish: string } }>(
    '/api/finishes/:finish/where-used',
    { schema: { summary: 'Lines, schedules and deliveries that use a finish', tags: ['finishes'] } },
    async ({ params }): Promise<WhereUsedAnswer> => findWhereUsed(context, params.finish),
  );
}
