import { setImmediate } from 'node:timers/promises';
import type { Kysely } from 'kysely';
import type { Article, Finish, StoredFinish } from '../../server/core/finish/finish.ts';
import { dropOddEntries } from '../../server/core/finish/finish-records.ts';
import type { Tables } from '../tables.ts';

/** One finish that a transaction has stored or deleted. */
export type OneFinish =
  | { readonly stored: StoredFinish; readonly isNew: boolean }
  /** The code, spelled as it was stored. */
  | { readonly deleted: string };

/**
 * All finishes and all articles. Nearly every call reads them and few change them, so both are kept until one changes.
 * Whoever writes one calls `forget` or `change` before the transaction ends: a read after that waits for the end.
 */
export interface FinishLists {
  listFinishes(): Promise<readonly StoredFinish[]>;
  listArticles(): Promise<readonly Article[]>;
  forget(): void;
  /**
   * Takes over one change. Reading forty thousand finishes again for it would keep the loop busy for a third of a second in all.
   * @returns to be called once the transaction is stored
   */
  change(one: OneFinish): () => void;
}

/** The lists of a database, and those of one transaction, which begin with what the database has kept. */
export interface RootLists extends FinishLists {
  /** Whether the finishes need not be read. */
  isKept(): boolean;
  /** Grows before a change of finishes or articles is stored. */
  countWrites(): number;
  /** Keeps a list that is stored by now, but cannot be read as it is yet. */
  replace(finishes: readonly StoredFinish[]): void;
  /**
   * `end` makes the database forget the lists that the transaction has changed, and keep what it has read of others. It returns
   * what is to be done once the transaction is stored.
   */
  begin(tx: Kysely<Tables>): { readonly lists: FinishLists; readonly end: () => () => void };
}

export function createFinishLists(db: Kysely<Tables>): RootLists {
  const finishes = keep<readonly StoredFinish[]>(() => readFinishes(db));
  const articles = keep(() => readArticles(db));
  let writes = 0;
  const forget = () => {
    writes++;
    finishes.forget();
    articles.forget();
  };
  /** Forgets the finishes until a transaction that has changed them is stored. @returns to be called then */
  const replaceLater = (next: readonly StoredFinish[] | null) => {
    const now = ++writes;
    finishes.forget();
    return () => {
      if (next && writes === now) finishes.replace(next);
    };
  };
  return {
    isKept: () => finishes.peek() !== null,
    countWrites: () => writes,
    replace: finishes.replace,
    listFinishes: finishes.get,
    listArticles: articles.get,
    forget,
    change: (one) => replaceLater(changeOne(finishes.peek(), one)),
    begin(tx) {
      let forgot = false;
      let changed = false;
      // a list that is still being read may wait for this very transaction, so it is not taken over
      const own = [
        keep(() => readFinishes(tx), finishes.peek()),
        keep(() => readArticles(tx), articles.peek()),
      ] as const;
      const lists: FinishLists = {
        listFinishes: own[0].get,
        listArticles: own[1].get,
        forget() {
          forgot = true;
          for (const each of own) each.forget();
        },
        change(one) {
          changed = true;
          const next = changeOne(own[0].peek(), one);
          if (next) own[0].replace(next);
          else own[0].forget();
          return () => {};
        },
      };
      return {
        lists,
        end() {
          if (forgot) {
            forget();
            return () => {};
          }
          articles.offer(own[1].peek());
          if (changed) return replaceLater(own[0].peek());
          finishes.offer(own[0].peek());
          return () => {};
        },
      };
    },
  };
}

/** The list after a change, as the database would list it; null if the list is not known. */
function changeOne(list: readonly StoredFinish[] | null, one: OneFinish): readonly StoredFinish[] | null {
  if (!list) return null;
  const code = 'deleted' in one ? one.deleted : one.stored.finish;
  const at = list.findIndex(({ finish }) => finish === code);
  if ('stored' in one && one.isNew) return [...list, one.stored];
  if (at < 0) return null;
  return 'stored' in one ? list.with(at, one.stored) : list.toSpliced(at, 1);
}

/** Keeps a value once it has been read. A failed read is not kept: the next one may succeed. */
function keep<T extends object>(read: () => Promise<T>, known: T | null = null) {
  let value = known;
  let reading: Promise<T> | null = null;
  return {
    peek: () => value,
    offer(read: T | null): void {
      value ??= read;
    },
    get(): Promise<T> {
      if (value) return Promise.resolve(value);
      if (reading) return reading;
      const started = read();
      reading = started;
      const settle = (result: T | null) => {
        // it may have been forgotten since
        if (reading !== started) return;
        reading = null;
        value = result;
      };
      started.then(settle, () => settle(null));
      return started;
    },
    replace(next: T): void {
      value = next;
      reading = null;
    },
    forget() {
      value = null;
      reading = null;
    },
  };
}

/** Finishes that are read in one go, some milliseconds: twenty thousand at once would hold up everything for half a second. */
const READ_AT_ONCE = 500;

async function readFinishes(db: Kysely<Tables>): Promise<StoredFinish[]> {
  const all: StoredFinish[] = [];
  for (let last = 0; ; ) {
    const rows = await db
      .selectFrom('finishes')
      .select(['ordinal', 'data', 'revision'])
      .where('ordinal', '>', last)
      .orderBy('ordinal')
      .limit(READ_AT_ONCE)
      .execute();
    for (const row of rows) all.push(readFinish(row));
    if (rows.length < READ_AT_ONCE) return all;
    last = rows.at(-1)!.ordinal;
    await setImmediate();
  }
}

async function readArticles(db: Kysely<Tables>): Promise<Article[]> {
  const rows = await db.selectFrom('articles').select('data').orderBy('article_key').execute();
  return rows.map((row) => readArticle(row.data));
}

export function readFinish(row: { data: string; revision: number }): StoredFinish {
  return { ...dropOddEntries(JSON.parse(row.data) as Finish), revision: row.revision };
}

export function readArticle(data: string): Article {
  return dropOddEntries(JSON.parse(data) as Article);
}
