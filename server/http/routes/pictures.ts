import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { Context } from '../../actions/context.ts';
import { describePicture, type PictureDescription } from '../../actions/describe-picture.ts';
import {
  type Picture,
  type PictureRequest,
  takeChoicePicture,
  takeVariantPicture,
} from '../../actions/take-picture.ts';
import { type FrameSize, listFrameSizes } from '../../core/picture/measure-frame.ts';
import {
  IMAGE_FORMATS,
  type ImageFormat,
  PICTURE_SIZE_PX,
  type Shadow,
  type ShotView,
} from '../../core/picture/picture.ts';
import { readGround } from '../../core/picture/read-ground.ts';
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
      refuseCostly(request);
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
        refuseCostly(request);
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

/** What takes the one studio minutes is not for everybody who may look at pictures. */
function refuseCostly({ guest, query }: Pick<FastifyRequest, 'guest'> & { readonly query: PictureQuery }): void {
  if (!guest || (query.widthMm === undefined && query.samples !== '64' && query.direct !== '1')) return;
  throw new Problem('token-needed', {
    detail: 'Printed sizes, 64 subsamples and pictures in one piece take minutes: they are for callers with the token.',
    where: 'querystring',
  });
}

function toRequest(query: PictureQuery, format: ImageFormat): PictureRequest {
  const { widthPx, heightPx, bleedPx } = readSize(query);
  const { fill, scale } = query;
  return {
    widthPx,
    heightPx,
    format,
    view: (query.view ?? 'three-quarter') as ShotView,
    ground: readGround(query.ground ?? (format === 'jpg' ? 'white' : 'transparent')),
    framing: {
      ...(fill !== undefined && { fillPercent: fill }),
      marginPx: bleedPx,
      scale: scale as 'product' | 'line',
    },
    quality: query.samples === '64' ? 'fine' : 'still',
    shadow: (query.shadow ?? 'with') as Shadow,
    direct: query.direct === '1',
  };
}

/** A square, a free size, or a printed one; not two of them. */
function readSize(query: PictureQuery): FrameSize {
  const { size, width, height, widthMm, heightMm, ppi, bleedMm } = query;
  const printed = [widthMm, heightMm, ppi].filter((each) => each !== undefined).length;
  const refuse = (detail: string): never => {
    throw new Problem('invalid-field', { detail, where: 'querystring' });
  };
  if ((width === undefined) !== (height === undefined)) {
    refuse('Width and height go together; for a square give size alone.');
  }
  if (printed % 3 !== 0) refuse('A printed size is widthMm, heightMm and ppi together.');
  if (bleedMm !== undefined && printed === 0) refuse('Bleed belongs to a printed size: widthMm, heightMm and ppi.');
  if ([size !== undefined, width !== undefined, printed > 0].filter(Boolean).length > 1) {
    refuse('Say how large the picture is in one way: size, or width and height, or widthMm, heightMm and ppi.');
  }
  if (printed === 0) {
    const side = size ?? PICTURE_SIZE_PX.default;
    return { widthPx: width ?? side, heightPx: height ?? side, bleedPx: 0 };
  }
  const frame = listFrameSizes({ widthMm: widthMm!, heightMm: heightMm!, ppi: ppi!, bleedMm: bleedMm ?? 0 })[0]!;
  const { min, printMax, pixels } = PICTURE_SIZE_PX;
  const { widthPx, heightPx } = frame;
  if (Math.min(widthPx, heightPx) < min || Math.max(widthPx, heightPx) > printMax || widthPx * heightPx > pixels) {
    throw new Problem('invalid-field', {
      detail: `That comes to ${widthPx} × ${heightPx} px. Sides may have ${min} to ${printMax} px, and all of it ${pixels / 1e6} million. Change the size or the ppi.`,
      expected: { sidePx: [min, printMax], pixels },
      received: { widthPx, heightPx },
      where: 'querystring',
    });
  }
  return frame;
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
