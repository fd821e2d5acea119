import { listOtherTabs, THIS_TAB } from './open-tabs.ts';
import type { Draft, Row } from './schedule-draft.ts';

/** An unsaved draft, and the version of the schedule that it began as. */
export interface KeptDraft {
  /** The tab that kept it. */
  readonly owner?: string | undefined;
  /** The sign-in name of the person; null without a sign-in. */
  readonly person?: string | null | undefined;
  /** When it was kept, ms since 1970. */
  readonly at?: number | undefined;
  readonly tag: string | null;
  readonly base: Draft;
  readonly draft: Draft;
}

/** A draft beside its base: a row that is the same in both is only its key. */
interface Packed extends Omit<KeptDraft, 'draft'> {
  readonly rows: readonly (number | Row)[];
  readonly rest: Omit<Draft, 'rows'>;
}

export function packDraft({ draft, ...kept }: KeptDraft): Packed {
  const same = new Map(kept.base.rows.map((row) => [row.key, row]));
  const { rows, ...rest } = draft;
  return { ...kept, rows: rows.map((row) => (same.get(row.key) === row ? row.key : row)), rest };
}

/** @returns null for what an earlier version of the pages may have stored */
export function unpackDraft(packed: Packed): KeptDraft | null {
  if (!Array.isArray(packed?.base?.rows) || !Array.isArray(packed.rows)) return null;
  const { rows, rest, ...kept } = packed;
  const known = new Map(packed.base.rows.map((row) => [row.key, row]));
  const all = rows.flatMap((row) => (typeof row === 'number' ? (known.get(row) ?? []) : [row]));
  return { ...kept, draft: { ...rest, rows: all } };
}

const PREFIX = 'dyeworks-schedule ';
/** Longer texts go to the larger store, which answers later. Browsers give the quick one five million characters. */
const QUICK_CHARACTERS = 1_500_000;

/** Each tab keeps its own draft of a product. */
const keyOf = (product: string, owner = THIS_TAB) => `${product} ${owner}`;

/**
 * Keeps the draft of this tab in this browser, past a reload and a crash.
 * @param person who is signed in; nobody else gets it back
 * @returns false where the browser keeps nothing
 */
export async function keepDraft(product: string, kept: KeptDraft, person: string | null): Promise<boolean> {
  const packed = packDraft({ ...kept, owner: THIS_TAB, person, at: Date.now() });
  const text = JSON.stringify(packed);
  const key = keyOf(product);
  if (text.length <= QUICK_CHARACTERS) {
    try {
      localStorage.setItem(PREFIX + key, text);
      return true;
    } catch {
      // full, or switched off: the larger store may still have room
    }
  }
  try {
    await inStore('readwrite', (store) => store.put(packed, key));
    localStorage.removeItem(PREFIX + key);
    return true;
  } catch {
    return false;
  }
}

/** The drafts of a product that no open tab works on, newest first. */
export async function listLeftDrafts(product: string, person: string | null): Promise<KeptDraft[]> {
  const drafts = (await listDrafts(product)).filter((kept) => (kept.person ?? null) === person);
  if (drafts.every(({ owner }) => owner === THIS_TAB)) return drafts;
  const others = await listOtherTabs(product);
  return drafts
    .filter(({ owner }) => owner === undefined || !others.has(owner))
    .sort((a, b) => (b.at ?? 0) - (a.at ?? 0));
}

async function listDrafts(product: string): Promise<KeptDraft[]> {
  const start = keyOf(product, '');
  const quick = listQuickKeys(start).flatMap((key) => readQuick(key) ?? []);
  let large: Packed[] = [];
  try {
    large = await inStore('readonly', (store) => store.getAll(rangeOf(start)) as IDBRequest<Packed[]>);
  } catch {
    // the browser has no such store
  }
  return [...quick, ...large].flatMap((packed) => unpackDraft(packed) ?? []);
}

/** Drops the drafts that these tabs kept. The draft of another tab stays. */
export async function dropDrafts(product: string, owners: Iterable<string | undefined>): Promise<void> {
  const keys = [...owners].flatMap((owner) => (owner === undefined ? [] : [keyOf(product, owner)]));
  try {
    // all of them at once: the page may be about to close
    for (const key of keys) localStorage.removeItem(PREFIX + key);
    for (const key of keys) await inStore('readwrite', (store) => store.delete(key));
  } catch {
    // nothing is kept there
  }
}

/** How many products this person has drafts of in this browser. */
export async function countDrafts(person: string | null): Promise<number> {
  const { quick, large } = await listKeys(person);
  return new Set([...quick, ...large].map((key) => key.slice(0, key.lastIndexOf(' ')))).size;
}

/** Drops all drafts of a person, so that nobody finds them after a sign-out. */
export async function dropAllDrafts(person: string | null): Promise<void> {
  const { quick, large } = await listKeys(person);
  for (const key of quick) localStorage.removeItem(PREFIX + key);
  for (const key of large) await inStore('readwrite', (store) => store.delete(key)).catch(() => undefined);
}

/** The keys of a person's drafts in either store. */
async function listKeys(person: string | null): Promise<{ readonly quick: string[]; readonly large: string[] }> {
  const isTheirs = (packed: Packed | undefined) => (packed?.person ?? null) === person;
  const quick = listQuickKeys('').filter((key) => isTheirs(readQuick(key)));
  try {
    const [keys, values] = [
      await inStore('readonly', (store) => store.getAllKeys()),
      await inStore('readonly', (store) => store.getAll() as IDBRequest<Packed[]>),
    ];
    return { quick, large: keys.map(String).filter((_, at) => isTheirs(values[at])) };
  } catch {
    // the browser has no such store
    return { quick, large: [] };
  }
}

/** The keys of drafts in the quick store that begin like this. */
function listQuickKeys(start: string): string[] {
  try {
    const keys = Array.from({ length: localStorage.length }, (_, at) => localStorage.key(at)!);
    return keys.filter((key) => key.startsWith(PREFIX + start)).map((key) => key.slice(PREFIX.length));
  } catch {
    return [];
  }
}

function readQuick(key: string): Packed | undefined {
  try {
    return JSON.parse(localStorage.getItem(PREFIX + key)!) as Packed;
  } catch {
    return undefined;
  }
}

const rangeOf = (start: string) => IDBKeyRange.bound(start, `${start}\uffff`);

const STORE = 'drafts';

function inStore<T>(mode: IDBTransactionMode, use: (store: IDBObjectStore) => IDBRequest<T>): Promise<T> {
  return new Promise((resolve, reject) => {
    const opening = indexedDB.open('dyeworks', 1);
    opening.onupgradeneeded = () => opening.result.createObjectStore(STORE);
    opening.onerror = () => reject(opening.error);
    opening.onsuccess = () => {
      const database = opening.result;
      const work = database.transaction(STORE, mode);
      const asked = use(work.objectStore(STORE));
      work.onabort = () => {
        database.close();
        reject(work.error);
      };
      work.oncomplete = () => {
        database.close();
        resolve(asked.result);
      };
    };
  });
}
