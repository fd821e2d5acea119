import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import { expandProductSchedule, putSchedule } from '../../actions/change-schedule.ts';
import type { Context } from '../../actions/context.ts';
import { loadProduct } from '../../actions/load-product.ts';
import { Problem } from '../../core/problems.ts';
import { listScheduleFindings } from '../../core/schedule/list-schedule-findings.ts';
import type { ExpandAnswer, ScheduleAnswer } from '../answers.ts';
import { ExpandBody, ScheduleBody } from '../contracts/product.ts';

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
  return { ...schedule, findings: listScheduleFindings(schedule, loaded.slots, loaded.line, loaded.finishes.byCode) };
}

/** The tag a caller read; null when it does not mind what it overwrites. */
function readIfMatch(request: FastifyRequest): string | null {
  const header = request.headers['if-match'];
  if (header === undefined || header.trim() === '*') return null;
  return header.trim().replace(/^W\//, '').replace(/^"|"$/g, '');
}
