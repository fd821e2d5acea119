import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { Context } from '../../actions/context.ts';
import { describePicture, type PictureDescription } from '../../actions/describe-picture.ts';
import {
  type Picture,
  type PictureRequest,
  takeChoicePicture,
  takeVariantPicture,
} from '../../actions/take-picture.ts';
import { IMAGE_FORMATS, type ImageFormat, PICTURE_SIZE_PX, type Shadow } from '../../core/picture/picture.ts';
import { Problem } from '../../core/problems.ts';
import { PictureQuery } from '../contracts/picture.ts';
import { sendBytes } from '../send-bytes.ts';

type ByProduct = { Params: { product: string } };

export function addPictureRoutes(app: FastifyInstance, context: Context): void {
  app.get<{ Params: { product: string; file: string }; Querystring: PictureQuery }>(
    '/api/products/:product/pictures/:file',
    {
      schema: {
        summary: 'The product in a variant: {variant}.png, .webp or .jpg',
        tags: ['pictures'],
        querystring: PictureQuery,
      },
    },
    async (request, reply) => {
      const { product, file } = request.params;
      const match = /^(.+)\.([a-z]+)$/.exec(file);
      if (!match || !(IMAGE_FORMATS as readonly string[]).includes(match[2]!)) {
        throw new Problem('not-found', {
          detail: `A picture is a variant's code with .png, .webp or .jpg behind it.`,
          expected: IMAGE_FORMATS,
          received: file.slice(0, 80),
        });
      }
      const picture = await takeVariantPicture(
        context,
        product,
        match[1]!,
        toRequest(request.query, match[2] as ImageFormat),
      );
      return sendPicture(request, reply, picture);
    },
  );

  for (const format of IMAGE_FORMATS) {
    app.get<ByProduct & { Querystring: PictureQuery }>(
      `/api/products/:product/picture.${format}`,
      {
        schema: {
          summary: 'The product in any combination: choice=slot:finish, repeated',
          tags: ['pictures'],
          querystring: PictureQuery,
        },
      },
      async (request, reply) => {
        const choices = readChoices(request.query.choice ?? []);
        const picture = await takeChoicePicture(
          context,
          request.params.product,
          choices,
          toRequest(request.query, format),
        );
        return sendPicture(request, reply, picture);
      },
    );
  }

  app.get<ByProduct & { Querystring: PictureQuery }>(
    '/api/products/:product/picture.json',
    {
      schema: {
        summary: 'Scale of a picture, and what will not come out well in it, without taking it',
        tags: ['pictures'],
        querystring: PictureQuery,
      },
    },
    async ({ params, query }): Promise<PictureDescription> =>
      describePicture(context, params.product, readChoices(query.choice ?? []), toRequest(query, 'png')),
  );
}

function toRequest(query: PictureQuery, format: ImageFormat): PictureRequest {
  const size = query.size ?? PICTURE_SIZE_PX.default;
  if ((query.width === undefined) !== (query.height === undefined)) {
    throw new Problem('invalid-field', {
      detail: 'Width and height go together; for a square give size alone.',
      where: 'querystring',
    });
  }
  return {
    widthPx: query.width ?? size,
    heightPx: query.height ?? size,
    format,
    view: (query.view ?? 'three-quarter') as PictureRequest['view'],
    ground: (query.ground ?? (format === 'jpg' ? 'white' : 'transparent')) as PictureRequest['ground'],
    shadow: (query.shadow ?? 'with') as Shadow,
    direct: query.direct === '1',
  };
}

function readChoices(given: readonly string[]): Record<string, string> {
  const choices: Record<string, string> = Object.create(null);
  for (const choice of given) {
    const match = /^([a-z0-9-]{1,64}):(.+)$/.exec(choice);
    if (!match || Object.hasOwn(choices, match[1]!)) {
      throw new Problem('invalid-field', {
        detail: 'A choice is slot:finish, each slot once, such as choice=seat:OAK.',
        received: choice.slice(0, 100),
        where: 'querystring/choice',
      });
    }
    choices[match[1]!] = match[2]!;
  }
  return choices;
}

function sendPicture(request: FastifyRequest, reply: FastifyReply, picture: Picture): FastifyReply {
  reply.header('picture-source', picture.source);
  return sendBytes(request, reply, picture.bytes, { sha256: picture.sha256, mediaType: picture.mediaType });
}
