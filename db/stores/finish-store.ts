import { setImmediate } from 'node:timers/promises';
import type { Kysely, Transaction } from 'kysely';
import { foldCode } from '../../server/core/codes.ts';
import type { Rule } from '../../server/core/line/line.ts';
import { namesFinish } from '../../server/core/line/rules.ts';
import type { FinishUse, Stores } from '../../server/core/ports/stores.ts';
import { Problem } from '../../server/core/problems.ts';
import { FINISH_PROBLEMS } from '../../server/core/texts/problems/finish.ts';
import type { Tables } from '../tables.ts';
import { atomically } from '../transactions.ts';
import { deleteFinishApprovals } from './approval-store.ts';
import { type FinishLists, type OneFinish, readArticle, readFinish } from './finish-lists.ts';
import { recordArticle, recordEvent, recordFinishes } from './history-store.ts';
import type { StagedImports } from './staged-imports.ts';
import { BATCH, isSame, putBatch } from './write-finishes.ts';

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

/** @param staged stores long lists without holding the connection; null in a transaction, which holds it anyway */
export function createFinishStore(db: Kysely<Tables>, lists: FinishLists, staged: StagedImports | null): FinishStore {
  /** Does work that changes finishes or articles. */
  async function write<T>(work: (tx: Transaction<Tables>) => Promise<T>): Promise<T> {
    const forgetAfter = async (tx: Transaction<Tables>) => {
      try {
        return await work(tx);
      } finally {
        lists.forget();
      }
    };
    return staged ? staged.whenSettled(forgetAfter) : atomically(db, forgetAfter);
  }

  /** Does work that changes one finish at most. */
  async function writeOne<T>(
    work: (tx: Transaction<Tables>) => Promise<{ readonly result: T; readonly one: OneFinish | null }>,
  ): Promise<T> {
    const noteAfter = async (tx: Transaction<Tables>) => {
      const { result, one } = await work(tx).catch((error: unknown) => {
        lists.forget();
        throw error;
      });
      return { result, onceStored: one && lists.change(one) };
    };
    const { result, onceStored } = await (staged ? staged.whenSettled(noteAfter) : atomically(db, noteAfter));
    onceStored?.();
    return result;
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
      await staged?.settled();
      const row = await db
        .selectFrom('finishes')
        .select(['data', 'revision'])
        .where('finish_key', '=', foldCode(code))
        .executeTakeFirst();
      return row ? readFinish(row) : null;
    },

    putFinish(finish, change) {
      return writeOne(async (tx) => {
        const [planned] = await putBatch(tx, [finish], change);
        const { row, result } = planned!;
        // read as the list would be: JSON leaves out what is undefined
        return { result, one: row && { stored: readFinish(row), isNew: result.created } };
      });
    },

    putFinishes(all, knownAs, change) {
      if (staged && all.length > BATCH) return staged.putAll(all, knownAs, change);
      return write(async (tx) => {
        for (let from = 0; from < all.length; from += BATCH) {
          await putBatch(tx, all.slice(from, from + BATCH), change, knownAs);
          await setImmediate();
        }
      });
    },

    deleteFinish(code, stamp) {
      return writeOne(async (tx) => {
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
          .returning(['data', 'revision'])
          .executeTakeFirst();
        if (!gone) return { result: undefined, one: null };
        await tx
          .insertInto('retired_finishes')
          .values({ finish_key, revision: gone.revision })
          .onConflict((on) => on.column('finish_key').doUpdateSet({ revision: gone.revision }))
          .execute();
        await deleteFinishApprovals(tx, finish_key);
        await recordEvent(tx, { finish_key, revision: gone.revision }, 'deleted', stamp);
        return { result: undefined, one: { deleted: readFinish(gone).finish } };
      });
    },

    findUses: (code) => findUses(db, code),
  };
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
