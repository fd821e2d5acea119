import { Readable } from 'node:stream';
import type { FastifyInstance } from 'fastify';
import type { Context } from '../../actions/context.ts';
import { countLeading } from '../../core/job/part-ranges.ts';
import type { Job } from '../../core/ports/jobs.ts';
import { JobEventsQuery, JobListQuery, JobPicturesQuery } from '../contracts/job.ts';
import type { JobAnswer, JobEvent, JobListAnswer, JobPicturesAnswer } from '../picture-answers.ts';
import { toJobAnswer, toJobPictures } from '../to-job-answer.ts';

/** Pictures in one event. */
const TOLD_AT_ONCE = 50;

type ById = { Params: { id: string } };

export function addJobRoutes(app: FastifyInstance, context: Context): void {
  const { jobs } = context;

  app.get<{ Querystring: JobListQuery }>(
    '/api/jobs',
    { schema: { summary: 'The last jobs, the latest first', tags: ['jobs'], querystring: JobListQuery } },
    async ({ query }): Promise<JobListAnswer> => {
      const { limit = 20, ...of } = query;
      return { jobs: await jobs.listLast(limit, of) };
    },
  );

  app.get<ById>(
    '/api/jobs/:id',
    { schema: { summary: 'A job', tags: ['jobs'] } },
    async ({ params }): Promise<JobAnswer> => toJobAnswer(await jobs.get(params.id)),
  );

  app.delete<ById>(
    '/api/jobs/:id',
    { schema: { summary: 'Cancel a job', tags: ['jobs'] } },
    async ({ params }): Promise<JobAnswer> => toJobAnswer(await jobs.cancel(params.id)),
  );

  app.get<ById & { Querystring: JobPicturesQuery }>(
    '/api/jobs/:id/pictures',
    {
      schema: {
        summary: 'The pictures of a job that are there, in its order, page by page',
        tags: ['jobs'],
        querystring: JobPicturesQuery,
      },
    },
    async ({ params, query: { after = 0, limit = 200 } }): Promise<JobPicturesAnswer> =>
      toJobPictures(await jobs.get(params.id), after, limit),
  );

  app.get<ById & { Querystring: JobEventsQuery }>(
    '/api/jobs/:id/events',
    {
      schema: {
        summary: 'Progress of a job and what has arrived since the event before, as server-sent events',
        tags: ['jobs'],
        querystring: JobEventsQuery,
      },
    },
    async (request, reply) => {
      const job = await jobs.get(request.params.id);
      const gone = new AbortController();
      request.raw.once('close', () => gone.abort());
      reply.raw.once('close', () => gone.abort());
      const after = readLastEvent(request.headers['last-event-id']) ?? request.query.after;
      const events = writeEvents(jobs.watch(job.id, gone.signal), after ?? countLeading(job.finished));
      return reply.type('text/event-stream').header('cache-control', 'no-store').send(Readable.from(events));
    },
  );
}

/** Each event says in its id how far pictures were told: a reader that comes back goes on there. */
async function* writeEvents(changes: AsyncIterable<Job>, after: number): AsyncGenerator<string> {
  let told = after;
  for await (const job of changes) {
    for (;;) {
      const { pictures, next } = toJobPictures(job, told, TOLD_AT_ONCE);
      const more = pictures.length === TOLD_AT_ONCE && next < countLeading(job.finished);
      told = next;
      const isOpen = job.state === 'running' || job.state === 'queued';
      // the request does not change, and may name thousands of variants
      const { request: _, ...progress } = toJobAnswer(job);
      const event: JobEvent = { ...progress, arrived: pictures };
      yield `id: ${told}\nevent: ${isOpen || more ? 'progress' : 'end'}\ndata: ${JSON.stringify(event)}\n\n`;
      // of a job that goes on, the next change brings the rest
      if (!more || isOpen) break;
    }
  }
}

function readLastEvent(header: string | string[] | undefined): number | undefined {
  return typeof header === 'string' && /^\d{1,9}$/.test(header) ? Number(header) : undefined;
}
