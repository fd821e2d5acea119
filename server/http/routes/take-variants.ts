import type { FastifyInstance } from 'fastify';
import type { Context } from '../../actions/context.ts';
import { takeInVariants } from '../../actions/import-variants.ts';
import { loadProduct } from '../../actions/load-product.ts';
import type { TakenVariantsAnswer } from '../answers.ts';
import { AuthorHeaders } from '../contracts/author.ts';
import { TakeVariantsBody } from '../contracts/take-variants.ts';
import { readAuthor } from '../read-author.ts';
import { toSlotAnswer } from '../to-slot-answer.ts';

export function addTakeVariantsRoute(app: FastifyInstance, context: Context): void {
  app.post<{ Params: { product: string }; Body: TakeVariantsBody }>(
    '/api/products/:product/model/take-variants',
    {
      schema: {
        summary: 'Take in the variants the model carries: its materials become finishes, its variants the schedule',
        tags: ['preparation'],
        body: TakeVariantsBody,
        headers: AuthorHeaders,
      },
    },
    async ({ params, body, headers }, reply) => {
      const taken = await takeInVariants(
        context,
        params.product,
        { replace: body.replace ?? false },
        readAuthor(headers),
      );
      const loaded = await loadProduct(context, params.product);
      const answer: TakenVariantsAnswer = {
        finishes: taken.finishes,
        variants: taken.schedule.variants.map(({ code, name }) => ({ code, name })),
        default: taken.schedule.default,
        slots: loaded.slots.map((slot) => toSlotAnswer(loaded, slot)),
        revision: taken.revision,
        leftOut: taken.leftOut,
      };
      return reply.status(201).send(answer);
    },
  );
}
