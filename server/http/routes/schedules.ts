import type { FastifyInstance, FastifyReply } from 'fastify';
import { Type } from 'typebox';
import { checkProductSchedule } from '../../actions/check-product.ts';
import type { Context } from '../../actions/context.ts';
import {
  addCheckSet,
  expandProductSchedule,
  planMissingRows,
  putSchedule,
  renameVariants,
} from '../../actions/edit-schedule.ts';
import { loadProduct } from '../../actions/load-product.ts';
import { countChoices } from '../../actions/product-choices.ts';
import { Problem } from '../../core/problems.ts';
import { PRODUCT_PROBLEMS } from '../../core/texts/problems/product.ts';
import { callerSignal } from '../caller-signal.ts';
import { EditHeaders } from '../contracts/precondition.ts';
import {
  CheckSetAnswer,
  CheckSetBody,
  CheckSetPreview,
  CountAnswer,
  CountQuery,
  ExpandAnswer,
  ExpandBody,
  RenameBody,
  ScheduleAnswer,
  ScheduleBody,
} from '../contracts/schedule.ts';
import { readPrecondition } from '../request-parsing.ts';
import { ok, setTag, tagged } from '../responses.ts';

type ByProduct = { Params: { product: string } };

const TAGS = { tags: ['schedule'] };

export function addScheduleRoutes(app: FastifyInstance, context: Context): void {
  app.get<ByProduct>(
    '/api/products/:product/schedule',
    { schema: { ...TAGS, summary: 'Get the finish schedule', response: tagged(ScheduleAnswer) } },
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
        ...TAGS,
        summary: 'Replace the schedule; If-Match protects the changes of others',
        body: ScheduleBody,
        headers: EditHeaders,
        response: ok(ScheduleAnswer),
      },
    },
    async (request, reply): Promise<ScheduleAnswer> => {
      await putSchedule(context, request.params.product, request.body, readPrecondition(request));
      return describeSchedule(context, request.params.product, reply);
    },
  );

  app.post<ByProduct & { Body: ExpandBody }>(
    '/api/products/:product/schedule/expand',
    {
      schema: {
        ...TAGS,
        summary: 'Add every combination that options and rules allow',
        body: ExpandBody,
        headers: EditHeaders,
        response: ok(ExpandAnswer),
      },
    },
    async (request, reply): Promise<ExpandAnswer> => {
      const { product } = request.params;
      const { added, total } = await expandProductSchedule(
        context,
        product,
        request.body,
        readPrecondition(request),
        callerSignal(reply),
      );
      return { ...(await describeSchedule(context, product, reply)), added, total };
    },
  );

  app.post<ByProduct & { Body: RenameBody }>(
    '/api/products/:product/schedule/rename',
    {
      schema: {
        ...TAGS,
        summary: 'Rename variants with a template',
        body: RenameBody,
        headers: EditHeaders,
        response: ok(ScheduleAnswer),
      },
    },
    async (request, reply): Promise<ScheduleAnswer> => {
      await renameVariants(context, request.params.product, request.body, readPrecondition(request));
      return describeSchedule(context, request.params.product, reply);
    },
  );

  app.post<ByProduct & { Body: CheckSetBody }>(
    '/api/products/:product/schedule/check-set',
    {
      schema: {
        ...TAGS,
        summary: 'Add the few variants that show every finish, or every allowed pair of finishes',
        body: CheckSetBody,
        headers: EditHeaders,
        response: ok(Type.Union([CheckSetAnswer, CheckSetPreview])),
      },
    },
    async (request, reply): Promise<CheckSetAnswer | CheckSetPreview> => {
      const { product } = request.params;
      const { kind = 'each-finish', preview = false } = request.body;
      if (preview) {
        const { covered, ...set } = await planMissingRows(context, product, kind, callerSignal(reply));
        return { ...set, preview, [kind === 'pairs' ? 'pairs' : 'finishes']: covered };
      }
      const {
        schedule: _,
        tag: __,
        covered,
        ...set
      } = await addCheckSet(context, product, kind, readPrecondition(request), callerSignal(reply));
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
        ...TAGS,
        summary: 'Count the variants that options and rules allow, without planned and discontinued finishes',
        querystring: CountQuery,
        response: ok(CountAnswer),
      },
    },
    async ({ params, query }, reply): Promise<CountAnswer> => {
      const { counted, effects } = await countChoices(
        context,
        params.product,
        query.explain === '1',
        callerSignal(reply),
      );
      return {
        ...(counted.exact
          ? { count: toCount(counted.count), exact: true }
          : { lower: toCount(counted.lower), upper: toCount(counted.upper), exact: false }),
        ...(effects && { effects: { ...effects, unruled: toCount(effects.unruled) } }),
      };
    },
  );
}

/** A number if a double can hold it exactly, else a decimal string. */
function toCount(count: bigint): number | string {
  return count <= Number.MAX_SAFE_INTEGER ? Number(count) : String(count);
}

/** Sets the ETag as well. */
async function describeSchedule(context: Context, product: string, reply: FastifyReply): Promise<ScheduleAnswer> {
  const loaded = await loadProduct(context, product);
  if (!loaded.schedule) {
    throw new Problem('not-found', {
      detail: PRODUCT_PROBLEMS['not-found'].noSchedule(loaded.product.code),
    });
  }
  const { schedule, tag } = loaded.schedule;
  setTag(reply, tag);
  return { ...schedule, findings: [...(await checkProductSchedule(context, loaded, schedule))] };
}
