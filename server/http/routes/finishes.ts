import type { FastifyInstance } from 'fastify';
import { addFile } from '../../actions/add-file.ts';
import type { Context } from '../../actions/context.ts';
import { loadFinishes, unknownFinish } from '../../actions/load-product.ts';
import { putArticle, putFinish } from '../../actions/put-finish.ts';
import { takeSwatch } from '../../actions/take-swatch.ts';
import { foldCode } from '../../core/codes.ts';
import type { StoredFinish } from '../../core/finish/finish.ts';
import type { GivenArticle, GivenFinish } from '../../core/finish/read-finish.ts';
import type { ResolvedFinish } from '../../core/finish/resolve-finish.ts';
import { IMAGE_FORMATS, PICTURE_SIZE_PX, SWATCH_KINDS, type SwatchKind } from '../../core/picture/picture.ts';
import { Problem } from '../../core/problems.ts';
import type { ArticleListAnswer, FinishAnswer, FinishListAnswer, ResolvedAnswer } from '../answers.ts';
import { ArticleBody, FinishBody } from '../contracts/finish.ts';
import { SwatchQuery } from '../contracts/picture.ts';
import { sendBytes } from '../send-bytes.ts';

/** Uploaded maps; a 4096 px PNG of noise is about 50 MB. */
const FILE_LIMIT_BYTES = 64 * 1024 * 1024;

type ByFinish = { Params: { finish: string } };
type ByArticle = { Params: { article: string } };

export function addFinishRoutes(app: FastifyInstance, context: Context, bodyLimitBytes: number): void {
  const { stores } = context;

  app.get(
    '/api/finishes',
    { schema: { summary: 'Finishes', tags: ['finishes'] } },
    async (): Promise<FinishListAnswer> => {
      const library = await loadFinishes(context);
      return {
        finishes: [...library.byCode.values()].map((finish) => toAnswer(finish, library.resolve(finish.finish))),
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
      return toAnswer(finish, library.resolve(finish.finish));
    },
  );

  app.put<ByFinish & { Body: FinishBody }>(
    '/api/finishes/:finish',
    { schema: { summary: 'Store a finish whole', tags: ['finishes'], body: FinishBody } },
    async ({ params, body }, reply) => {
      const { created, finish } = await putFinish(context, params.finish, body as GivenFinish);
      const library = await loadFinishes(context);
      return reply.status(created ? 201 : 200).send(toAnswer(finish, library.resolve(finish.finish)));
    },
  );

  app.delete<ByFinish>(
    '/api/finishes/:finish',
    { schema: { summary: 'Delete a finish that nothing uses', tags: ['finishes'] } },
    async ({ params }, reply) => {
      if (!(await stores.getFinish(params.finish))) throw unknownFinish(params.finish);
      await stores.deleteFinish(params.finish);
      return reply.status(204).send();
    },
  );

  for (const format of IMAGE_FORMATS) {
    app.get<ByFinish & { Querystring: SwatchQuery }>(
      `/api/finishes/:finish/swatch.${format}`,
      { schema: { summary: 'Picture of a finish', tags: ['pictures'], querystring: SwatchQuery } },
      async (request, reply) => {
        const { kind = 'sphere', size = PICTURE_SIZE_PX.swatchDefault } = request.query;
        if (!(SWATCH_KINDS as readonly string[]).includes(kind)) {
          throw new Problem('swatch-kind', {
            detail: `Swatches of the kind “${kind}” are not made yet. Ask for ${SWATCH_KINDS.join(' or ')}.`,
            expected: SWATCH_KINDS,
            received: kind,
          });
        }
        const picture = await takeSwatch(context, request.params.finish, {
          kind: kind as SwatchKind,
          sizePx: size,
          format,
        });
        reply.header('picture-source', picture.source);
        return sendBytes(request, reply, picture.bytes, { sha256: picture.sha256, mediaType: picture.mediaType });
      },
    );
  }

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
      throw new Problem('not-found', {
        detail: `There is no article “${params.article.slice(0, 80)}”.`,
        received: params.article.slice(0, 80),
      });
    },
  );

  app.put<ByArticle & { Body: ArticleBody }>(
    '/api/articles/:article',
    { schema: { summary: 'Store an article whole', tags: ['finishes'], body: ArticleBody } },
    async ({ params, body }, reply) => {
      const { created, article } = await putArticle(context, params.article, body as GivenArticle);
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
      return reply.status(201).send(await addFile(context, body));
    },
  );
}

function toAnswer(finish: StoredFinish, resolved: ResolvedFinish): FinishAnswer {
  return { ...finish, resolved: toResolvedAnswer(resolved) };
}

function toResolvedAnswer(resolved: ResolvedFinish): ResolvedAnswer {
  return {
    baseColorFactor: resolved.baseColour,
    roughness: resolved.roughness,
    metalness: resolved.metalness,
    hex: resolved.hex,
    lab: { value: resolved.specifiedLab, illuminant: 'D65', observer: '2deg' },
    outOfGamutDeltaE: resolved.outOfGamutDeltaE,
    estimated: false,
  };
}
