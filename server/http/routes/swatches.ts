import type { FastifyInstance } from 'fastify';
import type { Context } from '../../actions/context.ts';
import { describeSwatch, type SwatchRequest, takeSwatch } from '../../actions/take-swatch.ts';
import { IMAGE_FORMATS, PICTURE_SIZE_PX } from '../../core/picture/picture.ts';
import { Problem } from '../../core/problems.ts';
import { PICTURE_PROBLEMS } from '../../core/texts/problems/picture.ts';
import { SwatchAnswer, SwatchQuery } from '../contracts/picture.ts';
import { bytes, IMAGE_MEDIA_TYPES, ok } from '../responses.ts';
import { sendPicture } from '../send-bytes.ts';

type ByFinish = { Params: { finish: string }; Querystring: SwatchQuery };

const TAGS = { tags: ['pictures'] };

export function addSwatchRoutes(app: FastifyInstance, context: Context): void {
  for (const format of IMAGE_FORMATS) {
    app.get<ByFinish>(
      `/api/finishes/:finish/swatch.${format}`,
      {
        schema: {
          ...TAGS,
          summary: 'Get a picture of a finish',
          querystring: SwatchQuery,
          response: bytes(IMAGE_MEDIA_TYPES[format]),
        },
      },
      async (request, reply) => {
        const swatch = { ...readSwatchQuery(request.query), format };
        return sendPicture(request, reply, await takeSwatch(context, request.params.finish, swatch));
      },
    );
  }

  app.get<ByFinish>(
    '/api/finishes/:finish/swatch.json',
    {
      schema: {
        ...TAGS,
        summary: 'Get the measured and the specified colour of a swatch, their difference and the tolerance',
        querystring: SwatchQuery,
        response: ok(SwatchAnswer),
      },
    },
    async ({ params, query }): Promise<SwatchAnswer> => {
      const request = readSwatchQuery(query);
      const described = await describeSwatch(context, params.finish, request);
      const { kind, sizePx, light, widthMm } = request;
      const picture = new URLSearchParams({ kind, size: String(sizePx) });
      if (light) picture.set('light', light);
      if (widthMm !== undefined) picture.set('widthMm', String(widthMm));
      return {
        ...described,
        picture: `/api/finishes/${encodeURIComponent(described.finish)}/swatch.png?${picture}`,
      };
    },
  );
}

/** @throws Problem `swatch-kind` */
function readSwatchQuery(query: SwatchQuery): Omit<SwatchRequest, 'format'> {
  const { kind = 'sphere', size = PICTURE_SIZE_PX.swatchDefault, light, widthMm } = query;
  if (widthMm !== undefined && kind !== 'panel') {
    throw new Problem('swatch-kind', {
      detail: PICTURE_PROBLEMS['swatch-kind'](kind),
      expected: 'panel',
      received: kind,
      where: 'widthMm',
    });
  }
  return { kind, sizePx: size, ...(light === 'flat' && { light }), ...(widthMm !== undefined && { widthMm }) };
}
