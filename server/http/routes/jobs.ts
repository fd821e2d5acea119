import { randomUUID } from 'node:crypto';
import type { FastifyInstance, FastifyReply } from 'fastify';
import type { Context } from '../../actions/context.ts';
import { addLinePictures, addProductPictures, type GivenPictures } from '../../actions/pictures-job.ts';
import { countLeading, type Job, listArrived, type PicturePart, readPicturesRequest } from '../../core/job/job.ts';
import { readGround } from '../../core/picture/picture.ts';
import {
  JobAnswer,
  JobEvent,
  JobEventsQuery,
  JobListAnswer,
  JobListQuery,
  type JobPicture,
  JobPicturesAnswer,
  JobPicturesQuery,
  LinePicturesBody,
  ProductPicturesBody,
} from '../contracts/job.ts';
import { ref } from '../contracts/schema-parts.ts';
import { type ServerEvent, sendEvents } from '../event-stream.ts';
import { accepted, events, ok } from '../responses.ts';

/** Pictures in one event. */
const EVENT_PICTURES = 50;

type ById = { Params: { id: string } };

const TAGS = { tags: ['jobs'] };

/** Jobs, and the calls that start jobs of many pictures. */
export function addJobRoutes(app: FastifyInstance, context: Context, closing: AbortSignal): void {
  const { jobs } = context;

  app.post<{ Params: { product: string }; Body: ProductPicturesBody }>(
    '/api/products/:product/pictures',
    {
      schema: {
        summary: 'Start a job that makes the pictures of all variants, of some, or of a check set',
        tags: ['pictures'],
        body: ProductPicturesBody,
        response: accepted(ref(JobAnswer)),
      },
    },
    async ({ params, body }, reply) => {
      const { variants, checkSet, ...given } = body;
      const wanted = { variants, checkSet, ...readPictures(given) };
      return sendJob(reply, await addProductPictures(context, params.product, randomUUID(), wanted));
    },
  );

  app.post<{ Params: { line: string }; Body: LinePicturesBody }>(
    '/api/lines/:line/pictures',
    {
      schema: {
        summary: 'Start a job that makes the pictures of all products of a line; it names products that it leaves out',
        tags: ['pictures'],
        body: LinePicturesBody,
        response: accepted(ref(JobAnswer)),
      },
    },
    async ({ params, body }, reply) =>
      sendJob(reply, await addLinePictures(context, params.line, randomUUID(), readPictures(body))),
  );

  app.get<{ Querystring: JobListQuery }>(
    '/api/jobs',
    {
      schema: {
        ...TAGS,
        summary: 'List the latest jobs, newest first, page by page',
        querystring: JobListQuery,
        response: ok(JobListAnswer),
      },
    },
    async ({ query }): Promise<JobListAnswer> => {
      const { limit = 20, after = 0, ...of } = query;
      const found = await jobs.listLast(limit + 1, { ...of, ...(after > 0 && { before: after }) });
      const page = found.slice(0, limit);
      return {
        jobs: page.map(({ place: _, ...job }) => job),
        ...(found.length > limit && { next: page.at(-1)!.place }),
      };
    },
  );

  app.get<ById>(
    '/api/jobs/:id',
    { schema: { ...TAGS, summary: 'Get a job', response: ok(ref(JobAnswer)) } },
    async ({ params }): Promise<JobAnswer> => toJobAnswer(await jobs.get(params.id)),
  );

  app.delete<ById>(
    '/api/jobs/:id',
    { schema: { ...TAGS, summary: 'Cancel a job', response: ok(ref(JobAnswer)) } },
    async ({ params }): Promise<JobAnswer> => toJobAnswer(await jobs.cancel(params.id)),
  );

  app.get<ById & { Querystring: JobPicturesQuery }>(
    '/api/jobs/:id/pictures',
    {
      schema: {
        ...TAGS,
        summary: 'List the finished pictures of a job in its order, page by page',
        querystring: JobPicturesQuery,
        response: ok(JobPicturesAnswer),
      },
    },
    async ({ params, query: { after = 0, limit = 200 } }): Promise<JobPicturesAnswer> =>
      toJobPictures(await jobs.get(params.id), after, limit),
  );

  app.get<ById & { Querystring: JobEventsQuery }>(
    '/api/jobs/:id/events',
    {
      schema: {
        ...TAGS,
        summary: 'Follow a job: its progress and finished pictures, as server-sent events',
        querystring: JobEventsQuery,
        response: events(ref(JobEvent)),
      },
    },
    async (request, reply) => {
      const job = await jobs.get(request.params.id);
      const after = readLastEventId(request.headers['last-event-id']) ?? request.query.after;
      const from = after ?? countLeading(job.finished);
      return sendEvents(request, reply, closing, (signal) => listEvents(jobs.watch(job.id, signal), from, closing));
    },
  );
}

function readPictures({ ground, ...given }: LinePicturesBody | Omit<ProductPicturesBody, 'variants' | 'checkSet'>) {
  return { ...given, ...(ground !== undefined && { ground: readGround(ground) }) } as GivenPictures;
}

function sendJob(reply: FastifyReply, job: Job): FastifyReply {
  const answer: JobAnswer = toJobAnswer(job);
  return reply.status(202).header('location', `/api/jobs/${job.id}`).send(answer);
}

/**
 * The id of each event is the number of the next part: a reader that reconnects continues there. When the service closes, the
 * last event of an open job is `closing`.
 */
async function* listEvents(
  changes: AsyncIterable<Job>,
  after: number,
  closing: AbortSignal,
): AsyncGenerator<ServerEvent> {
  let sent = after;
  let last: JobEvent | null = null;
  for await (const job of changes) {
    for (;;) {
      const { pictures, next } = toJobPictures(job, sent, EVENT_PICTURES);
      const more = pictures.length === EVENT_PICTURES && next < countLeading(job.finished);
      sent = next;
      const isOpen = job.state === 'running' || job.state === 'queued';
      // the request does not change, and may list thousands of variants
      const { request: _, ...progress } = toJobAnswer(job);
      const event: JobEvent = { ...progress, arrived: pictures };
      last = isOpen || more ? { ...event, arrived: [] } : null;
      yield { id: sent, event: last ? 'progress' : 'end', data: event };
      // while the job runs, its next change brings the rest
      if (!more || isOpen) break;
    }
  }
  if (last && closing.aborted) yield { id: sent, event: 'closing', data: last };
}

function readLastEventId(header: string | string[] | undefined): number | undefined {
  return typeof header === 'string' && /^\d{1,9}$/.test(header) ? Number(header) : undefined;
}

/** Leaves out the lists that only the job itself needs: they may have twenty thousand entries. */
export function toJobAnswer({ finished: _, failedParts: __, request, ...job }: Job): JobAnswer {
  const { of: _of, variants: _variants, parts: _parts, ...rest } = request as Record<string, unknown>;
  return { ...job, request: rest };
}

/** Finished pictures, each with its URL path. */
function toJobPictures(job: Job, after: number, limit: number): JobPicturesAnswer {
  const { pictures, next } = listArrived(job, after, limit);
  const { ground, shadow, scale } = readPicturesRequest(job);
  return {
    pictures: pictures.map(({ choices, ...picture }): JobPicture => {
      const query = new URLSearchParams({ size: String(picture.sizePx), view: picture.view });
      // people read these URLs, so defaults are left out
      if (ground !== 'transparent') query.set('ground', ground.replace('#', ''));
      if (shadow !== 'with') query.set('shadow', shadow);
      if (scale === 'line') query.set('scale', scale);
      return { ...picture, url: `${fileUrl({ choices, ...picture }, query)}${query}` };
    }),
    next,
  };
}

/** The URL path up to the query. A row that is in no schedule puts its choices into the query. */
function fileUrl({ product, variant, choices, format }: PicturePart, query: URLSearchParams): string {
  const base = `/api/products/${encodeURIComponent(product)}`;
  if (choices === null) return `${base}/pictures/${encodeURIComponent(variant)}.${format}?`;
  for (const [slot, finish] of Object.entries(choices)) query.append('choice', `${slot}:${finish}`);
  return `${base}/picture.${format}?`;
}
