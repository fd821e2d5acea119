import type { FastifyInstance } from 'fastify';
import { addFile } from '../../actions/add-file.ts';
import type { Context } from '../../actions/context.ts';
import { deleteFinish } from '../../actions/delete-finish.ts';
import { describeFile } from '../../actions/describe-file.ts';
import { describeSwatch } from '../../actions/describe-swatch.ts';
import { loadFinishes, unknownArticle, unknownFinish } from '../../actions/load-product.ts';
import { putArticle, putFinish } from '../../actions/put-finish.ts';
import { type SwatchRequest, takeSwatch } from '../../actions/take-swatch.ts';
import { foldCode } from '../../core/codes.ts';
import { hexToLab } from '../../core/colour/delta-e-ab.ts';
import { findFinishes, listIndistinguishable } from '../../core/finish/find-finishes.ts';
import type { GivenArticle, GivenFinish } from '../../core/finish/read-finish.ts';
import { IMAGE_FORMATS, PICTURE_SIZE_PX } from '../../core/picture/picture.ts';
import { Problem } from '../../core/problems.ts';
import type { AlikeAnswer, ArticleListAnswer, FileAnswer, FinishListAnswer, SwatchAnswer } from '../answers.ts';
import { AuthorHeaders } from '../contracts/author.ts';
import { FileParams } from '../contracts/file.ts';
import { AlikeQuery, FinishQueryString } from '../contracts/find-finishes.ts';
import { ArticleBody, FinishBody } from '../contracts/finish.ts';
import { SwatchQuery } from '../contracts/picture.ts';
import { readAuthor } from '../read-author.ts';
import { sendBytes } from '../send-bytes.ts';
import { toFinishAnswer } from '../to-finish-answer.ts';

/** Uploaded maps; a 4096 px PNG of noise is about 50 MB. */
const FILE_LIMIT_BYTES = 64 * 1024 * 1024;

/** How many a colour is answered with unless another number is asked for. */
const NEAREST = 5;

type ByFinish = { Params: { finish: string } };
type ByFile = { Params: FileParams };
type ByArticle = { Params: { article: string } };

export function addFinishRoutes(app: FastifyInstance, context: Context, bodyLimitBytes: number): void {
  const { stores } = context;

  app.get<{ Querystring: FinishQueryString }>(
    '/api/finishes',
    {
      schema: {
        summary: 'Finishes; by text, family, tag or article, and nearest first to a colour',
        tags: ['finishes'],
        querystring: FinishQueryString,
      },
    },
    async ({ query }): Promise<FinishListAnswer> => {
      const library = await loadFinishes(context);
      const { q, near, limit, ...rest } = query;
      const found = findFinishes(library, {
        ...rest,
        ...(q !== undefined && { text: q }),
        ...(near !== undefined && { near: hexToLab(near) }),
        ...(limit !== undefined ? { limit } : near !== undefined && { limit: NEAREST }),
      });
      return {
        finishes: found.map(({ finish, deltaE }) => ({
          ...toFinishAnswer(finish, library),
          ...(deltaE !== null && { deltaE }),
        })),
      };
    },
  );

  app.get<{ Querystring: AlikeQuery }>(
    '/api/finishes/indistinguishable',
    {
      schema: {
        summary: 'Pairs nobody could tell apart: one family, article and gloss, and colours this near by ΔE00',
        tags: ['finishes'],
        querystring: AlikeQuery,
      },
    },
    async ({ query: { deltaE = 1, limit = 200 } }): Promise<AlikeAnswer> => {
      const library = await loadFinishes(context);
      return {
        deltaE,
        pairs: listIndistinguishable(library, deltaE, limit).map(({ a, b, deltaE }) => ({
          finishes: [a.finish, b.finish],
          deltaE,
        })),
      };
    },
  );

  app.get<ByFinish>(
    '/api/finishes/:finish',
    { schema: { summary: 'A finish as given, and what it resolves to', tags: ['finishes'] } },
    async ({ params }) => {
      const library = await loadFinishes(context);
      const finish = library.byCode.get(foldCode(params.finish));
      if (!finish) throw unknownFinish(params.finish);
      return toFinishAnswer(finish, library);
    },
  );

  app.put<ByFinish & { Body: FinishBody }>(
    '/api/finishes/:finish',
    { schema: { summary: 'Store a finish whole', tags: ['finishes'], body: FinishBody, headers: AuthorHeaders } },
    async ({ params, body, headers }, reply) => {
      const given = body as GivenFinish;
      const { created, finish } = await putFinish(context, params.finish, given, readAuthor(headers));
      const library = await loadFinishes(context);
      return reply.status(created ? 201 : 200).send(toFinishAnswer(finish, library));
    },
  );

  app.delete<ByFinish>(
    '/api/finishes/:finish',
    { schema: { summary: 'Delete a finish that nothing uses', tags: ['finishes'], headers: AuthorHeaders } },
    async ({ params, headers }, reply) => {
      await deleteFinish(context, params.finish, readAuthor(headers));
      return reply.status(204).send();
    },
  );

  for (const format of IMAGE_FORMATS) {
    app.get<ByFinish & { Querystring: SwatchQuery }>(
      `/api/finishes/:finish/swatch.${format}`,
      { schema: { summary: 'Picture of a finish', tags: ['pictures'], querystring: SwatchQuery } },
      async (request, reply) => {
        const picture = await takeSwatch(context, request.params.finish, { ...toSwatchRequest(request.query), format });
        reply.header('picture-source', picture.source);
        return sendBytes(request, reply, picture.bytes, { sha256: picture.sha256, mediaType: picture.mediaType });
      },
    );
  }

  app.get<ByFinish & { Querystring: SwatchQuery }>(
    '/api/finishes/:finish/swatch.json',
    {
      schema: {
        summary: 'What a swatch shows, measured in its pixels, beside what was specified, with distance and tolerance',
        tags: ['pictures'],
        querystring: SwatchQuery,
      },
    },
    async ({ params, query }): Promise<SwatchAnswer> => {
      const request = toSwatchRequest(query);
      const described = await describeSwatch(context, params.finish, request);
      const address = `/api/finishes/${encodeURIComponent(described.finish)}/swatch.png`;
      const { kind, sizePx, light, widthMm } = request;
      const more = `${light ? `&light=${light}` : ''}${widthMm === undefined ? '' : `&widthMm=${widthMm}`}`;
      return { ...described, picture: `${address}?kind=${kind}&size=${sizePx}${more}` };
    },
  );

  app.get(
    '/api/articles',
    { schema: { summary: 'Articles: what finishes of one material share', tags: ['finishes'] } },
    async (): Promise<ArticleListAnswer> => ({
      articles: await stores.listArticles(),
    }),
  );

  app.get<ByArticle>(
    '/api/articles/:article',
    { schema: { summary: 'An article', tags: ['finishes'] } },
    async ({ params }) => {
      const article = await stores.getArticle(params.article);
      if (article) return article;
      throw unknownArticle(params.article);
    },
  );

  app.put<ByArticle & { Body: ArticleBody }>(
    '/api/articles/:article',
    { schema: { summary: 'Store an article whole', tags: ['finishes'], body: ArticleBody, headers: AuthorHeaders } },
    async ({ params, body, headers }, reply) => {
      const given = body as GivenArticle;
      const { created, article } = await putArticle(context, params.article, given, readAuthor(headers));
      return reply.status(created ? 201 : 200).send(article);
    },
  );

  app.post<{ Body: Buffer }>(
    '/api/files',
    {
      schema: { summary: 'Upload an image for the maps of finishes: PNG, JPEG, WebP or KTX2', tags: ['finishes'] },
      bodyLimit: Math.min(FILE_LIMIT_BYTES, bodyLimitBytes),
    },
    async ({ body }, reply) => {
      if (!Buffer.isBuffer(body)) {
        throw new Problem('media-type', {
          detail: 'Send the image’s bytes as image/png, image/jpeg, image/webp or image/ktx2.',
        });
      }
      const { sha256 } = await addFile(context, body);
      return reply.status(201).send(await describeFile(context, sha256));
    },
  );

  app.get<ByFile>(
    '/api/files/:sha256',
    {
      schema: {
        summary: 'An uploaded image: what was measured of it, and what is said of it as each map of a finish',
        tags: ['finishes'],
        params: FileParams,
      },
    },
    ({ params }): Promise<FileAnswer> => describeFile(context, params.sha256),
  );
}

/** @throws Problem `swatch-kind` */
function toSwatchRequest(query: SwatchQuery): Omit<SwatchRequest, 'format'> {
  const { kind = 'sphere', size = PICTURE_SIZE_PX.swatchDefault, light, widthMm } = query;
  if (widthMm !== undefined && kind !== 'panel') {
    throw new Problem('swatch-kind', {
      detail: `Only a panel has a width in mm; a ${kind} has a size of its own. Leave widthMm out, or ask for kind=panel.`,
      expected: 'panel',
      received: kind,
      where: 'widthMm',
    });
  }
  return { kind, sizePx: size, ...(light === 'flat' && { light }), ...(widthMm !== undefined && { widthMm }) };
}
