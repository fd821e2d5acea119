import type { FastifyInstance } from 'fastify';
import { approve, listApprovals, listRangeStandings, listVariantStandings } from '../../actions/approve.ts';
import type { Context } from '../../actions/context.ts';
import type { Subject } from '../../core/approval/approval.ts';
import { COLOUR_CAUTION } from '../../core/delivery/delivery.ts';
import { Problem } from '../../core/problems.ts';
import { REQUEST_PROBLEMS } from '../../core/texts/problems/request.ts';
import { ApprovalsAnswer, DecisionBody, RangeStandingsAnswer, VariantStandingsAnswer } from '../contracts/approval.ts';
import { created, ok } from '../responses.ts';

const TAGS = { tags: ['approvals'] };

export function addApprovalRoutes(app: FastifyInstance, context: Context): void {
  add<{ finish: string }>('/api/finishes/:finish/approvals', 'a finish', ({ finish }) => ({ finish }));
  add<{ product: string; variant: string }>(
    '/api/products/:product/variants/:variant/approvals',
    'a variant',
    ({ product, variant }) => ({ product, variant }),
  );

  app.get<{ Params: { product: string } }>(
    '/api/products/:product/approvals',
    {
      schema: {
        ...TAGS,
        summary: 'List the current state of every variant that someone decided about',
        response: ok(VariantStandingsAnswer),
      },
    },
    async ({ params }): Promise<VariantStandingsAnswer> => ({
      variants: await listVariantStandings(context, params.product),
    }),
  );

  app.get<{ Params: { line: string } }>(
    '/api/lines/:line/approvals',
    {
      schema: {
        ...TAGS,
        summary: 'List the current state of every finish in the range of a line that someone decided about',
        response: ok(RangeStandingsAnswer),
      },
    },
    async ({ params }): Promise<RangeStandingsAnswer> => ({ finishes: await listRangeStandings(context, params.line) }),
  );

  function add<P>(path: string, what: string, toSubject: (params: P) => Subject): void {
    const answer = async (subject: Subject): Promise<ApprovalsAnswer> => ({
      ...(await listApprovals(context, subject)),
      caution: COLOUR_CAUTION,
    });

    app.get(
      path,
      {
        schema: {
          ...TAGS,
          summary: `List the decisions on ${what}, and its current state`,
          response: ok(ApprovalsAnswer),
        },
      },
      async ({ params }) => answer(toSubject(params as P)),
    );

    app.post<{ Body: DecisionBody }>(
      path,
      {
        schema: {
          ...TAGS,
          summary: `Record a decision on ${what} as it is now`,
          body: DecisionBody,
          response: created(ApprovalsAnswer),
        },
      },
      async (request, reply) => {
        const subject = toSubject(request.params as P);
        const person = await request.provePerson(request.body.person ?? null);
        if (person === null) throw missingPerson();
        await approve(context, subject, { ...request.body, person });
        return reply.status(201).send(await answer(subject));
      },
    );
  }
}

/** Without a sign-in, the call states who decided. */
function missingPerson(): Problem {
  return new Problem('invalid-field', {
    detail: REQUEST_PROBLEMS['invalid-field'].missing('person', 'body'),
    expected: 'person',
    where: 'body',
  });
}
