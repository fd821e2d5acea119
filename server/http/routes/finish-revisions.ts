import type { FastifyInstance } from 'fastify';
import { type Static, Type } from 'typebox';
import type { Context } from '../../actions/context.ts';
import {
  getArticleRevision,
  getFinishRevision,
  listArticleRevisions,
  listFinishRevisions,
} from '../../actions/list-revisions.ts';
import type { RevisionEntry } from '../../core/history/history.ts';
import type { ToldRevision } from '../../core/history/tell-history.ts';
import type {
  ArticleHistoryAnswer,
  FinishHistoryAnswer,
  PastArticleAnswer,
  PastFinishAnswer,
  RevisionAnswer,
} from '../answers.ts';
import { strict } from '../contracts/common.ts';
import { toResolvedAnswer } from '../to-finish-answer.ts';

const Revision = Type.Integer({ minimum: 1, description: 'A revision, counted from 1' });
const FinishParams = Type.Object({ finish: Type.String(), revision: Revision }, strict);
const ArticleParams = Type.Object({ article: Type.String(), revision: Revision }, strict);
type FinishParams = Static<typeof FinishParams>;
type ArticleParams = Static<typeof ArticleParams>;

const TAGS = { tags: ['finishes'] };

export function addFinishRevisionRoutes(app: FastifyInstance, context: Context): void {
  app.get<{ Params: { finish: string } }>(
    '/api/finishes/:finish/revisions',
    {
      schema: {
        ...TAGS,
        summary: 'Who changed what of a finish when, the latest first; also of one that was deleted',
      },
    },
    async ({ params }): Promise<FinishHistoryAnswer> => {
      const { revisions, events } = await listFinishRevisions(context, params.finish);
      return {
        revisions: revisions.map(({ resolved, deltaE, ...told }) => ({
          ...toRevisionAnswer(told),
          hex: resolved.hex,
          ...(deltaE !== null && { deltaE }),
        })),
        events,
      };
    },
  );

  app.get<{ Params: FinishParams }>(
    '/api/finishes/:finish/revisions/:revision',
    { schema: { ...TAGS, summary: 'A finish as it was, on its article as that was', params: FinishParams } },
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

  app.get<{ Params: { article: string } }>(
    '/api/articles/:article/revisions',
    { schema: { ...TAGS, summary: 'Who changed what of an article when, the latest first' } },
    async ({ params }): Promise<ArticleHistoryAnswer> => {
      const { revisions } = await listArticleRevisions(context, params.article);
      return { revisions: revisions.map(toRevisionAnswer) };
    },
  );

  app.get<{ Params: ArticleParams }>(
    '/api/articles/:article/revisions/:revision',
    { schema: { ...TAGS, summary: 'An article as it was', params: ArticleParams } },
    async ({ params }): Promise<PastArticleAnswer> => {
      const entry = await getArticleRevision(context, params.article, params.revision);
      return { ...toPast(entry), article: entry.definition };
    },
  );
}

function toRevisionAnswer({ entry, starts, changes }: ToldRevision<object>): RevisionAnswer {
  return { ...toPast(entry), starts, changes };
}

function toPast({ revision, what, at, person, note }: RevisionEntry<object>) {
  return { revision, how: what, at, person, ...(note !== undefined && { note }) };
}
