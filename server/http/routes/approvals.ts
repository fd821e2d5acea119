import type { FastifyInstance } from 'fastify';
import { approve, listApprovals } from '../../actions/approve.ts';
import type { Context } from '../../actions/context.ts';
import type { Subject } from '../../core/approval/approval.ts';
import { COLOUR_CAUTION } from '../../core/delivery/delivery.ts';
import type { ApprovalsAnswer } from '../answers.ts';
import { DecisionBody } from '../contracts/approval.ts';

export function addApprovalRoutes(app: FastifyInstance, context: Context): void {
  add<{ finish: string }>('/api/finishes/:finish/approvals', 'a finish', ({ finish }) => ({ finish }));
  add<{ product: string; variant: string }>(
    '/api/products/:product/variants/:variant/approvals',
    'a variant',
    ({ product, variant }) => ({ product, variant }),
  );

  function add<P>(path: string, what: string, toSubject: (params: P) => Subject): void {
    const answer = async (subject: Subject): Promise<ApprovalsAnswer> => ({
      ...(await listApprovals(context, subject)),
      caution: COLOUR_CAUTION,
    });

    app.get(
      path,
      { schema: { summary: `Decisions on ${what}, and where it stands`, tags: ['approvals'] } },
      async ({ params }) => answer(toSubject(params as P)),
    );

    app.post<{ Body: DecisionBody }>(
      path,
      { schema: { summary: `Record a decision on ${what} as it is now`, tags: ['approvals'], body: DecisionBody } },
      async ({ params, body }, reply) => {
        const subject = toSubject(params as P);
        await approve(context, subject, body);
        return reply.status(201).send(await answer(subject));
      },
    );
  }
}
