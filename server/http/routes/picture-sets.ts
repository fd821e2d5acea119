import type { FastifyInstance } from 'fastify';
import type { Context } from '../../actions/context.ts';
import { deleteSet, findSet, type KnownSet, listSets, putSet } from '../../actions/picture-sets.ts';
import { toGivenSet } from '../../core/picture/to-given-set.ts';
import { PictureSetBody } from '../contracts/picture-set.ts';
import type { PictureSetAnswer, PictureSetListAnswer } from '../picture-answers.ts';

type BySet = { Params: { set: string } };

export function addPictureSetRoutes(app: FastifyInstance, context: Context): void {
  app.get(
    '/api/picture-sets',
    { schema: { summary: 'Picture sets, those that are always there first', tags: ['picture sets'] } },
    async (): Promise<PictureSetListAnswer> => ({ sets: (await listSets(context)).map(toAnswer) }),
  );

  app.get<BySet>(
    '/api/picture-sets/:set',
    { schema: { summary: 'One recipient’s pictures', tags: ['picture sets'] } },
    async ({ params }): Promise<PictureSetAnswer> => toAnswer(await findSet(context, params.set)),
  );

  app.put<BySet & { Body: PictureSetBody }>(
    '/api/picture-sets/:set',
    {
      schema: {
        summary: 'Make or change a picture set; under the code of a ready one it takes the place of that',
        tags: ['picture sets'],
        body: PictureSetBody,
      },
    },
    async ({ params, body }, reply) => {
      const { created, ...known } = await putSet(context, params.set, body as never);
      return reply.status(created ? 201 : 200).send(toAnswer(known));
    },
  );

  app.delete<BySet>(
    '/api/picture-sets/:set',
    {
      schema: { summary: 'Delete a picture set; a ready one it stood for comes back', tags: ['picture sets'] },
    },
    async ({ params }, reply) => {
      await deleteSet(context, params.set);
      return reply.status(204).send();
    },
  );
}

function toAnswer({ set, ready, replacesReady }: KnownSet): PictureSetAnswer {
  return { code: set.code, ...toGivenSet(set), ready, replacesReady };
}
