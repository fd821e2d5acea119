import { setImmediate } from 'node:timers/promises';
import { type ExpressionBuilder, type Kysely, type Selectable, sql } from 'kysely';
import { foldCode } from '../../server/core/codes.ts';
import type { Article, Finish } from '../../server/core/finish/finish.ts';
import { dropOddEntries } from '../../server/core/finish/finish-records.ts';
import type { Change, EventKind, History, Stamp, Way } from '../../server/core/history/history.ts';
import type { Stores } from '../../server/core/ports/stores.ts';
import type { Tables } from '../tables.ts';

export function createHistoryStore(db: Kysely<Tables>): Pick<Stores, 'getFinishHistory' | 'getArticleHistory'> {
  return {
    getFinishHistory: (code) => readHistory<Finish>(db, 'finish', code),
    getArticleHistory: (code) => readHistory<Article>(db, 'article', code),
  };
}

/** Entries that are read in one go, some milliseconds. Nothing changes an entry, so other calls may write in between. */
const READ_AT_ONCE = 200;

async function readHistory<T extends object>(
  db: Kysely<Tables>,
  kind: Tables['history']['kind'],
  code: string,
): Promise<History<T>> {
  const history: History<T>[number][] = [];
  for (let last = 0; ; await setImmediate()) {
    const rows = await db
      .selectFrom('history')
      .select(['ordinal', 'revision', 'what', 'at', 'person', 'note', 'data', 'article_revision', 'detail'])
      .where('kind', '=', kind)
      .where('code_key', '=', foldCode(code))
      .where('ordinal', '>', last)
      .orderBy('ordinal')
      .limit(READ_AT_ONCE)
      .execute();
    for (const row of rows) history.push(readEntry<T>(row));
    if (rows.length < READ_AT_ONCE) return history;
    last = rows.at(-1)!.ordinal;
  }
}

function readEntry<T extends object>({
  revision,
  what,
  at,
  person,
  note,
  data,
  article_revision,
  detail,
}: Omit<Selectable<Tables['history']>, 'ordinal' | 'kind' | 'code_key'>): History<T>[number] {
  const entry = { revision, at, person, ...(note !== null && { note }) };
  if (data === null) return { ...entry, what: what as EventKind, ...(detail && JSON.parse(detail)) };
  return {
    ...entry,
    what: what as Way,
    definition: dropOddEntries(JSON.parse(data) as T),
    articleRevision: article_revision,
  };
}

type Written = Omit<Change, 'how'> & { readonly how: Way };

/** Records finishes as their table has them now: those with the keys, or all of an article. */
export async function recordFinishes(
  tx: Kysely<Tables>,
  which: { readonly keys: readonly string[] } | { readonly article_key: string },
  { how, at, person, note }: Written,
): Promise<void> {
  await tx
    .insertInto('history')
    .columns(['kind', 'code_key', 'revision', 'what', 'at', 'person', 'note', 'data', 'article_revision'])
    .expression((eb) =>
      eb
        .selectFrom('finishes')
        .leftJoin('articles', 'articles.article_key', 'finishes.article_key')
        .select((of) => [
          text(of, 'finish').as('kind'),
          'finishes.finish_key',
          'finishes.revision',
          text(of, how).as('what'),
          text(of, at).as('at'),
          text(of, person).as('person'),
          text(of, note ?? null).as('note'),
          'finishes.data',
          'articles.revision as article_revision',
        ])
        .where((of) =>
          'keys' in which
            ? of('finishes.finish_key', 'in', which.keys)
            : of('finishes.article_key', '=', which.article_key),
        )
        .orderBy('finishes.ordinal'),
    )
    .execute();
}

// biome-ignore lint/suspicious/noExplicitAny: a bound value, for any tables
function text(_: ExpressionBuilder<any, any>, value: string | null) {
  return sql<string>`${value}`;
}

/** Records an article as it is now. */
export async function recordArticle(
  tx: Kysely<Tables>,
  row: { readonly article_key: string; readonly data: string; readonly revision: number },
  { how, at, person, note }: Written,
): Promise<void> {
  const { article_key: code_key, data, revision } = row;
  await tx
    .insertInto('history')
    .values({ kind: 'article', code_key, revision, what: how, at, person, note: note ?? null, data })
    .execute();
}

/** Records an event that does not change the finish itself. */
export async function recordEvent(
  tx: Kysely<Tables>,
  finish: { readonly finish_key: string; readonly revision: number },
  what: EventKind,
  { at, person, note }: Stamp,
  detail: object | null = null,
): Promise<void> {
  await tx
    .insertInto('history')
    .values({
      kind: 'finish',
      code_key: finish.finish_key,
      revision: finish.revision,
      what,
      at,
      person,
      note: note ?? null,
      detail: detail && JSON.stringify(detail),
    })
    .execute();
}
