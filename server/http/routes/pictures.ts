import type { FastifyInstance, FastifyRequest } from 'fastify';
import type { Context } from '../../actions/context.ts';
import {
  describePicture,
  type PictureRequest,
  takeChoicePicture,
  takeVariantPicture,
} from '../../actions/take-picture.ts';
import { describeSwatch, type SwatchRequest, takeSwatch } from '../../actions/take-swatch.ts';
import { listCatalogue } from '../../actions/zip-files.ts';
import {
  IMAGE_FORMATS,
  IMAGE_TYPES,
  type ImageFormat,
  PICTURE_SIZE_PX,
  readGround,
  type Shadow,
  type ShotView,
} from '../../core/picture/picture.ts';
import { type FrameSize, listFrameSizes } from '../../core/picture/picture-set.ts';
import { Problem } from '../../core/problems.ts';
import { PICTURE_PROBLEMS } from '../../core/texts/problems/picture.ts';
import { REQUEST_PROBLEMS } from '../../core/texts/problems/request.ts';
import {
  CatalogueQuery,
  PictureDescriptionAnswer,
  PictureQuery,
  SwatchAnswer,
  SwatchQuery,
} from '../contracts/picture.ts';
import { bytes, download, ok } from '../responses.ts';
import { sendPicture, sendZip } from '../send-bytes.ts';

type ByProduct = { Params: { product: string } };
type ByFinish = { Params: { finish: string }; Querystring: SwatchQuery };

const TAGS = { tags: ['pictures'] };

/** Single pictures of products and finishes, their descriptions, and the zip of a catalogue. */
export function addPictureRoutes(app: FastifyInstance, context: Context): void {
  addProductPictureRoutes(app, context);
  addSwatchRoutes(app, context);
}

function addProductPictureRoutes(app: FastifyInstance, context: Context): void {
  app.get<{ Params: { product: string; file: string }; Querystring: PictureQuery }>(
    '/api/products/:product/pictures/:file',
    {
      schema: {
        ...TAGS,
        summary: 'Get a picture of a variant: {variant}.png, .webp or .jpg',
        querystring: PictureQuery,
        response: bytes(...Object.values(IMAGE_TYPES)),
      },
    },
    async (request, reply) => {
      const { product, file } = request.params;
      const match = /^(.+)\.([a-z]+)$/.exec(file);
      if (!match || !(IMAGE_FORMATS as readonly string[]).includes(match[2]!)) {
        throw new Problem('not-found', {
          detail: REQUEST_PROBLEMS['not-found'].pictureName,
          expected: IMAGE_FORMATS,
          received: file.slice(0, 80),
        });
      }
      refuseCostly(request);
      const wanted = toRequest(request.query, match[2] as ImageFormat);
      return sendPicture(request, reply, await takeVariantPicture(context, product, match[1]!, wanted));
    },
  );

  for (const format of IMAGE_FORMATS) {
    app.get<ByProduct & { Querystring: PictureQuery }>(
      `/api/products/:product/picture.${format}`,
      {
        schema: {
          ...TAGS,
          summary: 'Get a picture of any combination: choice=slot:finish, repeated',
          querystring: PictureQuery,
          response: bytes(IMAGE_TYPES[format]),
        },
      },
      async (request, reply) => {
        refuseCostly(request);
        const choices = readChoices(request.query.choice ?? []);
        const wanted = toRequest(request.query, format);
        return sendPicture(request, reply, await takeChoicePicture(context, request.params.product, choices, wanted));
      },
    );
  }

  app.get<ByProduct & { Querystring: PictureQuery }>(
    '/api/products/:product/picture.json',
    {
      schema: {
        ...TAGS,
        summary: 'Get the scale of a picture and findings about it, without rendering it',
        querystring: PictureQuery,
        response: ok(PictureDescriptionAnswer),
      },
    },
    async ({ params, query }): Promise<PictureDescriptionAnswer> =>
      describePicture(context, params.product, readChoices(query.choice ?? []), toRequest(query, 'png')),
  );

  app.get<ByProduct & { Querystring: CatalogueQuery }>(
    '/api/products/:product/catalogue.zip',
    {
      // a HEAD request would render every picture for nothing
      exposeHeadRoute: false,
      schema: {
        ...TAGS,
        summary: 'Download a zip with the schedule, finishes, swatches and a picture of every variant',
        querystring: CatalogueQuery,
        response: download('application/zip'),
      },
    },
    async ({ params, query }, reply) => {
      const files = await listCatalogue(context, params.product, query.size ?? PICTURE_SIZE_PX.default);
      return sendZip(reply, params.product, files);
    },
  );
}

/** Largest side of a guest's picture, px. It is taken in four tiles, between which others go. */
const GUEST_MAX_PX = 2048;

/** Pictures that keep the renderer busy for long need the token, even if pictures are public. */
function refuseCostly({ guest, query }: Pick<FastifyRequest, 'guest'> & { readonly query: PictureQuery }): void {
  if (!guest) return;
  const { size = 0, width = 0, height = 0, widthMm, samples, direct } = query;
  const isLarge = Math.max(size, width, height) > GUEST_MAX_PX;
  if (!isLarge && widthMm === undefined && samples !== '64' && direct !== '1') return;
  throw new Problem('token-needed', {
    detail: REQUEST_PROBLEMS['token-needed'].costly,
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

/** A square, a free size, or a printed size: only one of them. */
function readSize(query: PictureQuery): FrameSize {
  const { size, width, height, widthMm, heightMm, ppi, bleedMm } = query;
  const printed = [widthMm, heightMm, ppi].filter((each) => each !== undefined).length;
  const refuse = (detail: string): never => {
    throw new Problem('invalid-field', { detail, where: 'querystring' });
  };
  if ((width === undefined) !== (height === undefined)) {
    refuse(REQUEST_PROBLEMS['invalid-field'].widthWithoutHeight);
  }
  if (printed % 3 !== 0) refuse(REQUEST_PROBLEMS['invalid-field'].printedSize);
  if (bleedMm !== undefined && printed === 0) refuse(REQUEST_PROBLEMS['invalid-field'].bleed);
  if ([size !== undefined, width !== undefined, printed > 0].filter(Boolean).length > 1) {
    refuse(REQUEST_PROBLEMS['invalid-field'].severalSizes);
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
      detail: REQUEST_PROBLEMS['invalid-field'].pictureSize({
        widthPx,
        heightPx,
        min,
        max: printMax,
        megapixels: pixels / 1e6,
      }),
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
        detail: REQUEST_PROBLEMS['invalid-field'].choice,
        received: choice.slice(0, 100),
        where: 'querystring/choice',
      });
    }
    choices[match[1]!] = match[2]!;
  }
  return choices;
}

function addSwatchRoutes(app: FastifyInstance, context: Context): void {
  for (const format of IMAGE_FORMATS) {
    app.get<ByFinish>(
      `/api/finishes/:finish/swatch.${format}`,
      {
        schema: {
          ...TAGS,
          summary: 'Get a picture of a finish',
          querystring: SwatchQuery,
          response: bytes(IMAGE_TYPES[format]),
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
