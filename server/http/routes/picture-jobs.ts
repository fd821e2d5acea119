import { randomUUID } from 'node:crypto';
import type { FastifyInstance, FastifyReply } from 'fastify';
import { addLinePictures, addProductPictures, type GivenPictures } from '../../actions/add-pictures-job.ts';
import type { Context } from '../../actions/context.ts';
import { readGround } from '../../core/picture/read-ground.ts';
import type { Job } from '../../core/ports/jobs.ts';
import { LinePicturesBody, ProductPicturesBody } from '../contracts/job.ts';
import { toJobAnswer } from '../to-job-answer.ts';

/** Jobs that make many pictures. */
export function addPictureJobRoutes(app: FastifyInstance, context: Context): void {
  app.post<{ Params: { product: string }; Body: ProductPicturesBody }>(
    '/api/products/:product/pictures',
    {
      schema: {
        summary: 'Make all pictures of the schedule, of some variants or of a check set, as a job',
        tags: ['pictures'],
        body: ProductPicturesBody,
      },
    },
    async ({ params, body }, reply) => {
      const { variants, checkSet, ...given } = body;
      const rows = { variants, checkSet: checkSet as 'each-finish' | 'pairs' | undefined };
      const asked = { ...rows, ...readPictures(given) };
      return sendJob(reply, await addProductPictures(context, params.product, randomUUID(), asked));
    },
  );

  app.post<{ Params: { line: string }; Body: LinePicturesBody }>(
    '/api/lines/:line/pictures',
    {
      schema: {
        summary: 'Make the pictures of all products of a line, as a job; those without model or schedule are named',
        tags: ['pictures'],
        body: LinePicturesBody,
      },
    },
    async ({ params, body }, reply) =>
      sendJob(reply, await addLinePictures(context, params.line, randomUUID(), readPictures(body))),
  );
}

function readPictures({ ground, ...given }: LinePicturesBody | Omit<ProductPicturesBody, 'variants' | 'checkSet'>) {
  return { ...given, ...(ground !== undefined && { ground: readGround(ground) }) } as GivenPictures;
}

function sendJob(reply: FastifyReply, job: Job): FastifyReply {
  return reply.status(202).header('location', `/api/jobs/${job.id}`).send(toJobAnswer(job));
}
