import type { Kysely } from 'kysely';
import { foldCode } from '../../server/core/codes.ts';
import type { Article, Finish } from '../../server/core/finish/finish.ts';
import type { EventKind, History, Way } from '../../server/core/history/history.ts';
import type { Stores } from '../../server/core/ports/stores.ts';
import type { Tables } from '../tables.ts';

export function createHistoryStore(db: Kysely<Tables>): Pick<Stores, 'getFinishHistory' | 'getArticleHistory'> {
  return {
    getFinishHistory: (code) => readHistory<Finish>(db, 'finish', code),
    getArticleHistory: (code) => readHistory<Article>(db, 'article', code),
  };
}

async function readHistory<T>(db: Kysely<Tables>, kind: Tables['history']['kind'], code: string): Promise<History<T>> {
  const rows = await db
    .selectFrom('history')
    .select(['revision', 'what', 'at', 'person', 'note', 'data', 'article_revision', 'detail'])
    .where('kind', '=', kind)
    .where('code_key', '=', foldCode(code))
    .orderBy('ordinal')
    .execute();
  return rows.map(({ revision, what, at, person, note, data, article_revision, detail }) => {
    const entry = { revision, at, person, ...(note !== null && { note }) };
    if (data === null) return { ...entry, what: what as EventKind, ...(detail && JSON.parse(detail)) };
    return {
      ...entry,
      what: what as Way,
      definition: JSON.parse(data) as T,
      articleRevision: article_revision,
    };
  });
}
