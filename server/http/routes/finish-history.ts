import type { FastifyInstance } from 'fastify';
import type { Context } from '../../actions/context.ts';
import {
  getArticleRevision,
  getFinishRevision,
  listArticleRevisions,
  listFinishRevisions,
} from '../../actions/finish-history.ts';
import type { DescribedRevision, RevisionEntry } from '../../core/history/history.ts';
import {
  ArticleHistoryAnswer,
  ArticleRevisionParams,
  FinishHistoryAnswer,
  FinishRevisionParams,
  PastArticleAnswer,
  PastFinishAnswer,
  type RevisionAnswer,
} from '../contracts/finish-history.ts';
import { NumberedQuery } from '../contracts/schema-parts.ts';
import { pageNumbered } from '../page-numbered.ts';
import { ok } from '../responses.ts';
import { toResolvedAnswer } from './finishes.ts';

const TAGS = { tags: ['finishes'] };

export function addFinishHistoryRoutes(app: FastifyInstance, context: Context): void {
  app.get<{ Params: { finish: string }; Querystring: NumberedQuery }>(
    '/api/finishes/:finish/revisions',
    {
      schema: {
        ...TAGS,
        summary: 'Get the history of a finish, newest first, page by page, even if it was deleted',
        querystring: NumberedQuery,
        response: ok(FinishHistoryAnswer),
      },
    },
    async ({ params, query }): Promise<FinishHistoryAnswer> => {
      let rest: { readonly next?: number } = {};
      const { revisions, events } = await listFinishRevisions(context, params.finish, (all) => {
        const paged = pageNumbered(all, ({ entry }) => entry.revision, query);
        rest = paged.rest;
        return paged.page;
      });
      const { after } = query;
      return {
        revisions: revisions.map(({ resolved, deltaE, ...revision }) => ({
          ...toRevisionAnswer(revision),
          hex: resolved.hex,
          ...(deltaE !== null && { deltaE }),
        })),
        // those of the revisions on this page
        events: events.filter(({ revision }) => (!after || revision < after) && revision >= (rest.next ?? 0)),
        ...rest,
      };
    },
  );

  app.get<{ Params: FinishRevisionParams }>(
    '/api/finishes/:finish/revisions/:revision',
    {
      schema: {
        ...TAGS,
        summary: 'Get a past revision of a finish, with its article at that time',
        params: FinishRevisionParams,
        response: ok(PastFinishAnswer),
      },
    },
    async ({ params }): Promise<PastFinishAnswer> => {
      const { entry, article, resolved } = await getFinishRevision(context, params.finish, params.revision);
      return {
        ...toPast(entry),
        finish: entry.definition,
        article: article && { ...article.definition, revision: article.revision },
        resolved: toResolvedAnswer(resolved),
      };
    },
  );

  app.get<{ Params: { article: string }; Querystring: NumberedQuery }>(
    '/api/articles/:article/revisions',
    {
      schema: {
        ...TAGS,
        summary: 'Get the history of an article, newest first, page by page',
        querystring: NumberedQuery,
        response: ok(ArticleHistoryAnswer),
      },
    },
    async ({ params, query }): Promise<ArticleHistoryAnswer> => {
      const { revisions } = await listArticleRevisions(context, params.article);
      const { page, rest } = pageNumbered(revisions, ({ entry }) => entry.revision, query);
      return { revisions: page.map(toRevisionAnswer), ...rest };
    },
  );

  app.get<{ Params: ArticleRevisionParams }>(
    '/api/articles/:article/revisions/:revision',
    {
      schema: {
        ...TAGS,
        summary: 'Get a past revision of an article',
        params: ArticleRevisionParams,
        response: ok(PastArticleAnswer),
      },
    },
    async ({ params }): Promise<PastArticleAnswer> => {
      const entry = await getArticleRevision(context, params.article, params.revision);
      return { ...toPast(entry), article: entry.definition };
    },
  );
}

function toRevisionAnswer({ entry, starts, changes }: DescribedRevision<object>): RevisionAnswer {
  return { ...toPast(entry), starts, changes };
}

function toPast({ revision, what, at, person, note }: RevisionEntry<object>) {
  return { revision, how: what, at, person, ...(note !== undefined && { note }) };
}
