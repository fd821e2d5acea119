import type { FastifyInstance, FastifyReply } from 'fastify';
import { addCheckSet, planMissingRows } from '../../actions/add-check-set.ts';
import { expandProductSchedule, putSchedule, renameVariants } from '../../actions/change-schedule.ts';
import { checkProductSchedule } from '../../actions/check-product.ts';
import type { Context } from '../../actions/context.ts';
import { countChoices } from '../../actions/count-choices.ts';
import { loadProduct } from '../../actions/load-product.ts';
import { Problem } from '../../core/problems.ts';
import type { CheckSetAnswer, CheckSetPreview, CountAnswer, ExpandAnswer, ScheduleAnswer } from '../answers.ts';
import { CheckSetBody, CountQuery, ExpandBody, RenameBody, ScheduleBody } from '../contracts/product.ts';
import { readIfMatch } from '../read-if-match.ts';

type ByProduct = { Params: { product: string } };

export function addScheduleRoutes(app: FastifyInstance, context: Context): void {
  app.get<ByProduct>(
    '/api/products/:product/schedule',
    { schema: { summary: 'The finish schedule', tags: ['schedule'] } },
    async (request, reply) => {
      const answer = await describeSchedule(context, request.params.product, reply);
      if (request.headers['if-none-match'] === reply.getHeader('etag')) return reply.status(304).send();
      return answer;
    },
  );

  app.put<ByProduct & { Body: ScheduleBody }>(
    '/api/products/:product/schedule',
    {
      schema: {
        summary: 'Store the schedule whole; If-Match guards against overwriting',
        tags: ['schedule'],
        body: ScheduleBody,
      },
    },
    async (request, reply): Promise<ScheduleAnswer> => {
      await putSchedule(context, request.params.product, request.body, readIfMatch(request));
      return describeSchedule(context, request.params.product, reply);
    },
  );

  app.post<ByProduct & { Body: ExpandBody }>(
    '/api/products/:product/schedule/expand',
    { schema: { summary: 'Add every combination the options allow', tags: ['schedule'], body: ExpandBody } },
    async (request, reply): Promise<ExpandAnswer> => {
      const { added, total } = await expandProductSchedule(
        context,
        request.params.product,
        request.body,
        readIfMatch(request),
      );
      return { ...(await describeSchedule(context, request.params.product, reply)), added, total };
    },
  );

  app.post<ByProduct & { Body: RenameBody }>(
    '/api/products/:product/schedule/rename',
    { schema: { summary: 'Rename variants by a template', tags: ['schedule'], body: RenameBody } },
    async (request, reply): Promise<ScheduleAnswer> => {
      await renameVariants(context, request.params.product, request.body, readIfMatch(request));
      return describeSchedule(context, request.params.product, reply);
    },
  );

  app.post<ByProduct & { Body: CheckSetBody }>(
    '/api/products/:product/schedule/check-set',
    {
      schema: {
        summary: 'Add the few variants that show every finish, or every two finishes that may meet',
        tags: ['schedule'],
        body: CheckSetBody,
      },
    },
    async (request, reply): Promise<CheckSetAnswer | CheckSetPreview> => {
      const { product } = request.params;
      const { kind = 'each-finish', preview = false } = request.body;
      if (preview) {
        const { covered, ...set } = await planMissingRows(context, product, kind);
        return { ...set, preview, [kind === 'pairs' ? 'pairs' : 'finishes']: covered };
      }
      const { schedule: _, tag: __, covered, ...set } = await addCheckSet(context, product, kind, readIfMatch(request));
      return {
        ...(await describeSchedule(context, product, reply)),
        ...set,
        [kind === 'pairs' ? 'pairs' : 'finishes']: covered,
      };
    },
  );

  app.get<ByProduct & { Querystring: CountQuery }>(
    '/api/products/:product/schedule/count',
    {
      schema: {
        summary: 'How many variants options and rules allow; planned and discontinued finishes are left out',
        tags: ['schedule'],
        querystring: CountQuery,
      },
    },
    async ({ params, query }): Promise<CountAnswer> => {
      const { counted, effects } = await countChoices(context, params.product, query.explain === '1');
      return {
        ...(counted.exact
          ? { count: toCount(counted.count), exact: true }
          : { lower: toCount(counted.lower), upper: toCount(counted.upper), exact: false }),
        ...(effects && { effects: { ...effects, unruled: toCount(effects.unruled) } }),
      };
    },
  );
}

/** Numbers that a double holds exactly stay numbers. */
function toCount(count: bigint): number | string {
  return count <= Number.MAX_SAFE_INTEGER ? Number(count) : String(count);
}

async function describeSchedule(context: Context, product: string, reply: FastifyReply): Promise<ScheduleAnswer> {
  const loaded = await loadProduct(context, product);
  if (!loaded.schedule) {
    throw new Problem('not-found', {
      detail: `${loaded.product.code} has no schedule yet. PUT one, or expand it from the options.`,
    });
  }
  const { schedule, tag } = loaded.schedule;
  reply.header('etag', `"${tag}"`);
  return { ...schedule, findings: checkProductSchedule(loaded, schedule) };
}
