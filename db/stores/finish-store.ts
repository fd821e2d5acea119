import { setImmediate } from 'node:timers/promises';
import type { Kysely, Transaction } from 'kysely';
import { canonical } from '../../server/core/canonical.ts';
import { foldCode } from '../../server/core/codes.ts';
import type { Finish } from '../../server/core/finish/finish.ts';
import type { Change } from '../../server/core/history/history.ts';
import type { Rule } from '../../server/core/line/line.ts';
import { namesFinish } from '../../server/core/line/rules.ts';
import type { FinishUse, Stores } from '../../server/core/ports/stores.ts';
import { Problem } from '../../server/core/problems.ts';
import { FINISH_PROBLEMS } from '../../server/core/texts/problems/finish.ts';
import type { Tables } from '../tables.ts';
import { atomically } from '../transactions.ts';
import { deleteFinishApprovals } from './approval-store.ts';
import { type FinishLists, readArticle, readFinish } from './finish-lists.ts';
import { recordArticle, recordEvent, recordFinishes } from './history-store.ts';

type FinishStore = Pick<
  Stores,
  | 'listArticles'
  | 'getArticle'
  | 'putArticle'
  | 'listFinishes'
  | 'getFinish'
  | 'putFinish'
  | 'putFinishes'
  | 'deleteFinish'
  | 'findUses'
>;

export function createFinishStore(db: Kysely<Tables>, lists: FinishLists): FinishStore {
  /** Does work that changes finishes or articles. */
  function write<T>(work: (tx: Transaction<Tables>) => Promise<T>): Promise<T> {
    return atomically(db, async (tx) => {
      try {
        return await work(tx);
      } finally {
        lists.forget();
      }
    });
  }

  return {
    listArticles: lists.listArticles,

    async getArticle(code) {
      const row = await db
        .selectFrom('articles')
        .select('data')
        .where('article_key', '=', foldCode(code))
        .executeTakeFirst();
      return row ? readArticle(row.data) : null;
    },

    putArticle(article, change) {
      return write(async (tx) => {
        const article_key = foldCode(article.article);
        const data = JSON.stringify(article);
        const before = await tx
          .selectFrom('articles')
          .select('data')
          .where('article_key', '=', article_key)
          .executeTakeFirst();
        if (before && isSame(before.data, article)) return false;
        const revision = (await readLastArticle(tx, article_key)) + 1;
        await tx
          .insertInto('articles')
          .values({ article_key, data, revision })
          .onConflict((on) => on.column('article_key').doUpdateSet({ data, revision }))
          .execute();
        await recordArticle(tx, { article_key, data, revision }, change);
        // a finish depends on its article: a changed article makes a new revision of each of its finishes
        await tx
          .updateTable('finishes')
          .set((eb) => ({ revision: eb('revision', '+', 1) }))
          .where('article_key', '=', article_key)
          .execute();
        await recordFinishes(tx, { article_key }, { ...change, how: 'article-changed' });
        return before === undefined;
      });
    },

    listFinishes: lists.listFinishes,

    async getFinish(code) {
      const row = await db
        .selectFrom('finishes')
        .select(['data', 'revision'])
        .where('finish_key', '=', foldCode(code))
        .executeTakeFirst();
      return row ? readFinish(row) : null;
    },

    putFinish(finish, change) {
      return write(async (tx) => (await putBatch(tx, [finish], change))[0]!);
    },

    putFinishes(all, knownAs, change) {
      return write(async (tx) => {
        for (let from = 0; from < all.length; from += BATCH) {
          await putBatch(tx, all.slice(from, from + BATCH), change, knownAs);
          await setImmediate();
        }
      });
    },

    deleteFinish(code, stamp) {
      return write(async (tx) => {
        const uses = await findUses(tx, code);
        if (uses.lines.length + uses.rules.length + uses.schedules.length > 0) {
          throw new Problem('finish-in-use', {
            detail: FINISH_PROBLEMS['finish-in-use'].finish(code, uses),
            findings: [uses],
          });
        }
        const finish_key = foldCode(code);
        const gone = await tx
          .deleteFrom('finishes')
          .where('finish_key', '=', finish_key)
          .returning('revision')
          .executeTakeFirst();
        if (!gone) return;
        await tx
          .insertInto('retired_finishes')
          .values({ finish_key, revision: gone.revision })
          .onConflict((on) => on.column('finish_key').doUpdateSet({ revision: gone.revision }))
          .execute();
        await deleteFinishApprovals(tx, finish_key);
        await recordEvent(tx, { finish_key, revision: gone.revision }, 'deleted', stamp);
      });
    },

    findUses: (code) => findUses(db, code),
  };
}

/** Finishes that one statement writes. It takes some milliseconds; then other work gets a turn. */
const BATCH = 250;

/** Writes finishes in their order; no two have the same code. @throws Problem `stale-finishes` */
async function putBatch(
  tx: Kysely<Tables>,
  finishes: readonly Finish[],
  change: Change,
  knownAs?: (code: string) => number | null,
): Promise<Awaited<ReturnType<Stores['putFinish']>>[]> {
  const keys = finishes.map(({ finish }) => foldCode(finish));
  const found = await tx
    .selectFrom('finishes')
    .select(['finish_key', 'data', 'revision'])
    .where('finish_key', 'in', keys)
    .execute();
  const known = new Map(found.map((row) => [row.finish_key, row]));
  const retired = known.size < keys.length ? await readRetired(tx, keys) : new Map<string, number>();
  const results = finishes.map((finish, i) => {
    const before = known.get(keys[i]!);
    if (knownAs && (before?.revision ?? null) !== knownAs(finish.finish)) throw stale(finish.finish);
    // a code keeps the case in which it was first written
    const kept: Finish = before ? { ...finish, finish: readFinish(before).finish } : finish;
    if (before && isSame(before.data, kept))
      return { row: null, result: { created: false, finish: readFinish(before) } };
    const revision = (before?.revision ?? retired.get(keys[i]!) ?? 0) + 1;
    const article_key = kept.article ? foldCode(kept.article) : null;
    const row = { finish_key: keys[i]!, article_key, revision, data: JSON.stringify(kept) };
    return { row, result: { created: before === undefined, finish: { ...kept, revision } } };
  });
  const rows = results.flatMap(({ row }) => row ?? []);
  if (rows.length > 0) {
    await tx
      .insertInto('finishes')
      .values(rows)
      .onConflict((on) =>
        on.column('finish_key').doUpdateSet((eb) => ({
          article_key: eb.ref('excluded.article_key'),
          revision: eb.ref('excluded.revision'),
          data: eb.ref('excluded.data'),
        })),
      )
      .execute();
    await recordFinishes(tx, { keys: rows.map(({ finish_key }) => finish_key) }, change);
  }
  return results.map(({ result }) => result);
}

/** Whether a definition equals the stored one, in any order of fields. */
function isSame(data: string, definition: object): boolean {
  return data === JSON.stringify(definition) || canonical(JSON.parse(data)) === canonical(definition);
}

/** The last revision of an article; 0 for a code that is new. */
async function readLastArticle(tx: Kysely<Tables>, article_key: string): Promise<number> {
  const row = await tx
    .selectFrom('history')
    .select((eb) => eb.fn.max('revision').as('revision'))
    .where('kind', '=', 'article')
    .where('code_key', '=', article_key)
    .executeTakeFirst();
  return row?.revision ?? 0;
}

function stale(code: string): Problem {
  return new Problem('stale-finishes', {
    detail: FINISH_PROBLEMS['stale-finishes'].file(code),
    received: code,
  });
}

/** The last revisions of finishes that were deleted. */
async function readRetired(tx: Kysely<Tables>, keys: readonly string[]): Promise<Map<string, number>> {
  const rows = await tx
    .selectFrom('retired_finishes')
    .select(['finish_key', 'revision'])
    .where('finish_key', 'in', keys)
    .execute();
  return new Map(rows.map(({ finish_key, revision }) => [finish_key, revision]));
}

async function findUses(db: Kysely<Tables>, code: string): Promise<FinishUse> {
  const finish_key = foldCode(code);
  const lines = await db
    .selectFrom('line_range')
    .innerJoin('lines', 'lines.line_key', 'line_range.line_key')
    .select('lines.line')
    .where('finish_key', '=', finish_key)
    .execute();
  const schedules = await db
    .selectFrom('schedule_uses')
    .innerJoin('products', 'products.product_key', 'schedule_uses.product_key')
    .select(['products.code as product', 'schedule_uses.variants'])
    .where('finish_key', '=', finish_key)
    .execute();
  const ruled = await db.selectFrom('lines').select(['line', 'rules']).where('rules', '!=', '[]').execute();
  const rules = ruled.filter(({ rules }) => (JSON.parse(rules) as Rule[]).some((rule) => namesFinish(rule, code)));
  return { lines: lines.map(({ line }) => line), rules: rules.map(({ line }) => line), schedules };
}
