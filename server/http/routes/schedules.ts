import type { FastifyInstance, FastifyReply } from 'fastify';
import { Type } from 'typebox';
import { checkProductSchedule } from '../../actions/check-product.ts';
import type { Context } from '../../actions/context.ts';
import {
  addCheckSet,
  deleteSchedule,
  expandProductSchedule,
  noSchedule,
  planMissingRows,
  putSchedule,
  renameVariants,
} from '../../actions/edit-schedule.ts';
import { loadProduct } from '../../actions/load-product.ts';
import type { LoadedProduct } from '../../actions/loaded-product.ts';
import { countChoices } from '../../actions/product-choices.ts';
import type { TaggedSchedule } from '../../core/ports/stores.ts';
import type { Finding } from '../../core/product/finding.ts';
import { SLICE } from '../../core/slices.ts';
import { callerSignal } from '../caller-signal.ts';
import { EditHeaders } from '../contracts/precondition.ts';
import {
  CheckSetAnswer,
  CheckSetBody,
  type CheckSetFigures,
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
import { noContent, ok, setTag, tagged } from '../responses.ts';
import { sendList } from '../send-list.ts';

type ByProduct = { Params: { product: string } };

const TAGS = { tags: ['schedule'] };

export function addScheduleRoutes(app: FastifyInstance, context: Context): void {
  app.get<ByProduct>(
    '/api/products/:product/schedule',
    { schema: { ...TAGS, summary: 'Get the finish schedule', response: tagged(ScheduleAnswer) } },
    async (request, reply) => {
      const signal = callerSignal(reply);
      const loaded = await loadScheduled(context, request.params.product, reply);
      if (request.headers['if-none-match'] === reply.getHeader('etag')) return reply.status(304).send();
      return sendSchedule(reply, loaded, await checkProductSchedule(context, loaded, loaded.schedule.schedule, signal));
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
    async (request, reply) => {
      await putSchedule(context, request.params.product, request.body, readPrecondition(request));
      return answerSchedule(context, request.params.product, reply);
    },
  );

  app.delete<ByProduct>(
    '/api/products/:product/schedule',
    { schema: { ...TAGS, summary: 'Delete the schedule', headers: EditHeaders, response: noContent } },
    async (request, reply) => {
      await deleteSchedule(context, request.params.product, readPrecondition(request));
      return reply.status(204).send();
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
    async (request, reply) => {
      const { product } = request.params;
      const { added, total } = await expandProductSchedule(
        context,
        product,
        request.body,
        readPrecondition(request),
        callerSignal(reply),
      );
      return answerSchedule(context, product, reply, { added, total } satisfies Omit<
        ExpandAnswer,
        keyof ScheduleAnswer
      >);
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
    async (request, reply) => {
      await renameVariants(context, request.params.product, request.body, readPrecondition(request));
      return answerSchedule(context, request.params.product, reply);
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
    async (request, reply): Promise<FastifyReply | CheckSetPreview> => {
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
      const figures: CheckSetFigures = { ...set, [kind === 'pairs' ? 'pairs' : 'finishes']: covered };
      return answerSchedule(context, product, reply, figures);
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

type Scheduled = LoadedProduct & { readonly schedule: TaggedSchedule };

/** Sets the ETag as well. @throws Problem `not-found` without a schedule */
async function loadScheduled(context: Context, product: string, reply: FastifyReply): Promise<Scheduled> {
  const loaded = await loadProduct(context, product);
  const { schedule } = loaded;
  if (!schedule) throw noSchedule(loaded.product.code);
  setTag(reply, schedule.tag);
  return { ...loaded, schedule };
}

/** The schedule after a change. Its check does not end when the caller leaves: the change is stored. */
async function answerSchedule(
  context: Context,
  product: string,
  reply: FastifyReply,
  figures: Readonly<Record<string, unknown>> = {},
): Promise<FastifyReply> {
  const loaded = await loadScheduled(context, product, reply);
  return sendSchedule(reply, loaded, await checkProductSchedule(context, loaded, loaded.schedule.schedule), figures);
}

function sendSchedule(
  reply: FastifyReply,
  { schedule: { schedule } }: Scheduled,
  findings: readonly Finding[],
  figures: Readonly<Record<string, unknown>> = {},
): FastifyReply {
  const { variants, ...rest } = schedule;
  return sendList(reply, 'variants', variants, (variant) => variant, { ...rest, findings, ...figures }, SLICE);
}
