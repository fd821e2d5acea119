import type { Draft, Row } from './schedule-draft.ts';

/** Tells this tab from others, which may have drafts of the same schedule. */
export const THIS_TAB = `${Date.now().toString(36)}-${Math.random().toString(36).slice(2)}`;

/** An unsaved draft, and the version of the schedule that it began as. */
export interface KeptDraft {
  /** The tab that kept it. */
  readonly owner?: string | undefined;
  readonly tag: string | null;
  readonly base: Draft;
  readonly draft: Draft;
}

/** A draft beside its base: a row that is the same in both is only its key. */
interface Packed {
  readonly owner?: string | undefined;
  readonly tag: string | null;
  readonly base: Draft;
  readonly rows: readonly (number | Row)[];
  readonly rest: Omit<Draft, 'rows'>;
}

export function packDraft({ owner, tag, base, draft }: KeptDraft): Packed {
  const same = new Map(base.rows.map((row) => [row.key, row]));
  const { rows, ...rest } = draft;
  return { owner, tag, base, rows: rows.map((row) => (same.get(row.key) === row ? row.key : row)), rest };
}

/** @returns null for what an earlier version of the pages may have stored */
export function unpackDraft(packed: Packed): KeptDraft | null {
  if (!Array.isArray(packed?.base?.rows) || !Array.isArray(packed.rows)) return null;
  const known = new Map(packed.base.rows.map((row) => [row.key, row]));
  const rows = packed.rows.flatMap((row) => (typeof row === 'number' ? (known.get(row) ?? []) : [row]));
  return { owner: packed.owner, tag: packed.tag, base: packed.base, draft: { ...packed.rest, rows } };
}

const PREFIX = 'dyeworks-schedule ';
/** Longer texts go to the larger store, which answers later. Browsers give the quick one five million characters. */
const QUICK_CHARACTERS = 1_500_000;

/**
 * Keeps a draft in this browser, past a reload and a crash.
 * @returns false where the browser keeps nothing
 */
export async function keepDraft(product: string, kept: KeptDraft): Promise<boolean> {
  const packed = packDraft({ ...kept, owner: THIS_TAB });
  const text = JSON.stringify(packed);
  if (text.length <= QUICK_CHARACTERS) {
    try {
      localStorage.setItem(PREFIX + product, text);
      return true;
    } catch {
      // full, or switched off: the larger store may still have room
    }
  }
  try {
    await inStore('readwrite', (store) => store.put(packed, product));
    localStorage.removeItem(PREFIX + product);
    return true;
  } catch {
    return false;
  }
}

export async function readDraft(product: string): Promise<KeptDraft | null> {
  try {
    const text = localStorage.getItem(PREFIX + product);
    if (text !== null) return unpackDraft(JSON.parse(text) as Packed);
    const packed = await inStore('readonly', (store) => store.get(product));
    return packed === undefined ? null : unpackDraft(packed as Packed);
  } catch {
    return null;
  }
}

/** Drops the draft that one of these tabs kept. The draft of another tab stays. */
export async function dropDraft(product: string, owners: ReadonlySet<string | undefined>): Promise<void> {
  const isOurs = (packed: Packed | undefined) => packed !== undefined && owners.has(packed.owner);
  try {
    const text = localStorage.getItem(PREFIX + product);
    if (text !== null && isOurs(JSON.parse(text) as Packed)) localStorage.removeItem(PREFIX + product);
    await inStore('readwrite', (store) => {
      const asked: IDBRequest<Packed | undefined> = store.get(product);
      asked.onsuccess = () => {
        if (isOurs(asked.result)) store.delete(product);
      };
      return asked;
    });
  } catch {
    // nothing is kept there
  }
}

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
