import type { FastifyInstance } from 'fastify';
import type { Context } from '../../actions/context.ts';
import { deleteFinish, putArticle, putFinish } from '../../actions/edit-finish.ts';
import { loadFinishes, unknownArticle, unknownFinish } from '../../actions/load-finishes.ts';
import type { FinishLibrary } from '../../actions/loaded-product.ts';
import { listIndistinguishable, searchFinishes } from '../../actions/search-finishes.ts';
import { tagArticle, tagFinish } from '../../actions/tags.ts';
import { findWhereUsed } from '../../actions/where-used.ts';
import { foldCode } from '../../core/codes.ts';
import { hexToLab } from '../../core/colour/lab.ts';
import type { StoredFinish } from '../../core/finish/finish.ts';
import type { GivenArticle, GivenFinish } from '../../core/finish/read-finish.ts';
import type { ResolvedFinish } from '../../core/finish/resolve-finish.ts';
import { judgeFinish } from '../../core/finish/tolerances.ts';
import { APERTURE_CAVEAT } from '../../core/gloss/gloss-integral.ts';
import { callerSignal } from '../caller-signal.ts';
import {
  ArticleAnswer,
  ArticleBody,
  ArticleListAnswer,
  FINISHES_AT_ONCE,
  FinishAnswer,
  FinishBody,
  FinishListAnswer,
  FinishListQuery,
  NearIdenticalAnswer,
  NearIdenticalQuery,
  type ResolvedAnswer,
} from '../contracts/finish.ts';
import { WhereUsedAnswer } from '../contracts/line.ts';
import { AuthoredEditHeaders } from '../contracts/precondition.ts';
import { ref } from '../contracts/schema-parts.ts';
import { readAuthor, readPrecondition } from '../request-parsing.ts';
import { noContent, ok, setTag, stored } from '../responses.ts';
import { sendList } from '../send-list.ts';

/** How many finishes a search for a colour lists by default. */
const NEAREST = 5;

type ByFinish = { Params: { finish: string } };
type ByArticle = { Params: { article: string } };

const TAGS = { tags: ['finishes'] };

export function addFinishRoutes(app: FastifyInstance, context: Context): void {
  const { stores } = context;

  app.get<{ Querystring: FinishListQuery }>(
    '/api/finishes',
    {
      schema: {
        ...TAGS,
        summary: 'List finishes by text, family, tag or article, or the nearest to a colour',
        querystring: FinishListQuery,
        response: ok(FinishListAnswer),
      },
    },
    async ({ query }, reply) => {
      const { q, near, limit = near === undefined ? FINISHES_AT_ONCE : NEAREST, ...rest } = query;
      const terms = {
        ...rest,
        ...(q !== undefined && { text: q }),
        ...(near !== undefined && { near: hexToLab(near) }),
      };
      const { library, found, next } = await searchFinishes(context, { ...terms, limit }, callerSignal(reply));
      const describe = ({ finish, deltaE }: (typeof found)[number]): FinishListAnswer['finishes'][number] => ({
        ...toFinishAnswer(finish, library),
        ...(deltaE !== null && { deltaE }),
      });
      return sendList(reply, 'finishes', found, describe, next === null ? {} : { next });
    },
  );

  app.get<{ Querystring: NearIdenticalQuery }>(
    '/api/finishes/indistinguishable',
    {
      schema: {
        ...TAGS,
        summary: 'List near-identical colours: pairs of the same family, article and gloss within a ΔE00',
        querystring: NearIdenticalQuery,
        response: ok(NearIdenticalAnswer),
      },
    },
    async ({ query: { deltaE = 1, limit = 200 } }, reply): Promise<NearIdenticalAnswer> => {
      const pairs = await listIndistinguishable(context, deltaE, limit, callerSignal(reply));
      return { deltaE, pairs: pairs.map(({ a, b, deltaE }) => ({ finishes: [a.finish, b.finish], deltaE })) };
    },
  );

  app.get<ByFinish>(
    '/api/finishes/:finish',
    { schema: { ...TAGS, summary: 'Get a finish, and what it resolves to', response: ok(ref(FinishAnswer)) } },
    async ({ params }, reply): Promise<FinishAnswer> => {
      const library = await loadFinishes(context);
      const finish = library.byCode.get(foldCode(params.finish));
      if (!finish) throw unknownFinish(params.finish);
      setTag(reply, tagFinish(finish));
      return toFinishAnswer(finish, library);
    },
  );

  app.put<ByFinish & { Body: FinishBody }>(
    '/api/finishes/:finish',
    {
      schema: {
        ...TAGS,
        summary: 'Add or replace a finish',
        body: FinishBody,
        headers: AuthoredEditHeaders,
        response: stored(ref(FinishAnswer)),
      },
    },
    async (request, reply) => {
      const author = readAuthor(request.headers);
      const expected = readPrecondition(request);
      const given = request.body as GivenFinish;
      const { created, finish } = await putFinish(context, request.params.finish, given, author, expected);
      const library = await loadFinishes(context);
      setTag(reply, tagFinish(finish));
      return reply.status(created ? 201 : 200).send(toFinishAnswer(finish, library));
    },
  );

  app.delete<ByFinish>(
    '/api/finishes/:finish',
    { schema: { ...TAGS, summary: 'Delete an unused finish', headers: AuthoredEditHeaders, response: noContent } },
    async (request, reply) => {
      const author = readAuthor(request.headers);
      await deleteFinish(context, request.params.finish, author, readPrecondition(request));
      return reply.status(204).send();
    },
  );

  app.get<ByFinish>(
    '/api/finishes/:finish/where-used',
    {
      schema: {
        ...TAGS,
        summary: 'List the lines, schedules and deliveries that use a finish',
        response: ok(WhereUsedAnswer),
      },
    },
    async ({ params }): Promise<WhereUsedAnswer> => findWhereUsed(context, params.finish),
  );

  app.get(
    '/api/articles',
    {
      schema: {
        ...TAGS,
        summary: 'List all articles: what finishes of one material share',
        response: ok(ArticleListAnswer),
      },
    },
    async (): Promise<ArticleListAnswer> => ({ articles: await stores.listArticles() }),
  );

  app.get<ByArticle>(
    '/api/articles/:article',
    { schema: { ...TAGS, summary: 'Get an article', response: ok(ref(ArticleAnswer)) } },
    async ({ params }, reply): Promise<ArticleAnswer> => {
      const article = await stores.getArticle(params.article);
      if (!article) throw unknownArticle(params.article);
      setTag(reply, tagArticle(article));
      return article;
    },
  );

  app.put<ByArticle & { Body: ArticleBody }>(
    '/api/articles/:article',
    {
      schema: {
        ...TAGS,
        summary: 'Add or replace an article',
        body: ArticleBody,
        headers: AuthoredEditHeaders,
        response: stored(ref(ArticleAnswer)),
      },
    },
    async (request, reply) => {
      const author = readAuthor(request.headers);
      const expected = readPrecondition(request);
      const given = request.body as GivenArticle;
      const { created, article } = await putArticle(context, request.params.article, given, author, expected);
      setTag(reply, tagArticle(article));
      return reply.status(created ? 201 : 200).send(article);
    },
  );
}

/** A finish as defined, and what it resolves to. */
function toFinishAnswer(finish: StoredFinish, library: FinishLibrary): FinishAnswer {
  const resolved = library.resolve(finish.finish);
  const tolerance = judgeFinish(finish, resolved);
  return { ...finish, resolved: { ...toResolvedAnswer(resolved), tolerance, findings: library.check(finish.finish) } };
}

export function toResolvedAnswer(resolved: ResolvedFinish): Omit<ResolvedAnswer, 'findings' | 'tolerance'> {
  return {
    baseColorFactor: resolved.baseColour,
    roughness: resolved.roughness,
    metalness: resolved.metalness,
    clearcoatRoughness: resolved.clearcoatRoughness,
    gu60: resolved.gu60,
    gloss: resolved.gloss,
    ...(resolved.gu60 !== null && { glossBasis: APERTURE_CAVEAT }),
    hex: resolved.hex,
    colourFrom: resolved.colourFrom,
    specification: resolved.specification,
    delivered: resolved.delivered,
    levelled: resolved.levelled,
    lab: { value: resolved.specifiedLab, illuminant: 'D65', observer: '2deg' },
    outOfGamutDeltaE: resolved.outOfGamutDeltaE,
    estimated: resolved.estimated,
    ...(resolved.includedLab && { includedLab: resolved.includedLab }),
    chipDeltaE: resolved.chipDeltaE,
    displayDeltaE: resolved.displayDeltaE,
  };
}
