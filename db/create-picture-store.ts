import { createHash, randomUUID, webcrypto } from 'node:crypto';
import { existsSync, mkdirSync, readdirSync, rmSync } from 'node:fs';
import { readdir, readFile, rename, rm, stat, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { type Insertable, type Kysely, sql } from 'kysely';
import pLimit from 'p-limit';
import type { PictureShare, PictureStore, StoredBytes } from '../server/core/ports/stores.ts';
import { findStorageFault } from '../server/core/storage-faults.ts';
import type { Tables } from './tables.ts';
import { atomically } from './transactions.ts';

/** A full store frees this share at once, so it does not evict at every picture. */
const FREED_SHARE = 0.1;
/** Guests may fill this share of a store. */
const GUEST_SHARE = 0.25;
export const PARTIAL = '.part';
const USED_APART_MS = 60_000;
/** Keys in one query. SQLite accepts 32,766 values; shorter queries let others run in between. */
const KEYS_AT_ONCE = 500;
/** Files that are looked for at once, so that other reads are not behind thousands. */
const FILES_AT_ONCE = 32;
/** Smaller pictures are hashed at once: a thread would take longer to answer than the hash takes. */
const HASHED_AT_ONCE = 64 * 1024;

interface PictureStoreOptions {
  /** Precision of the time of last use: writing it at every read would cost more than the read. */
  readonly usedApartMs?: number;
  /** In milliseconds; default `Date.now`. */
  readonly now?: () => number;
  /** Gets the faults of the disk that callers do not see, since they got their picture. */
  readonly report?: (fault: unknown) => void;
}

/** The store, and what only its sweep needs. */
export interface PictureFolder extends PictureStore {
  /** Deletes files that are in no row, and rows whose file is missing. @returns how many of each */
  reconcile(signal?: AbortSignal): Promise<{ readonly files: number; readonly rows: number }>;
}

/**
 * Pictures in a folder. The database lists them with the time of their last use, and the least recently used are evicted
 * first.
 *
 * A picture can always be made again, so no file is synced. Instead each is compared with its stored length and digest
 * when it is read: after a power cut a file may be short or empty. Its row is written before the file gets its name, and
 * deleted after the file, so that the rows count at least what is on disk.
 */
export function createPictureStore(
  db: Kysely<Tables>,
  folder: string,
  limitBytes: number,
  { usedApartMs = USED_APART_MS, now = () => Date.now(), report = () => undefined }: PictureStoreOptions = {},
): PictureFolder {
  mkdirSync(folder, { recursive: true });
  const pathOf = (key: string) => join(folder, key);
  sweep(folder);
  /** An estimate in bytes. Each eviction corrects it from the database. */
  let total = Number.POSITIVE_INFINITY;
  /** The part of it that was stored for guests. */
  let forGuests = Number.POSITIVE_INFINITY;
  const guestLimitBytes = limitBytes * GUEST_SHARE;
  let evicting: Promise<void> | null = null;
  /** Keys whose row is or will be written before their file: nothing else may remove either meanwhile. */
  const arriving = new Map<string, number>();

  /**
   * The time of a use, never before an earlier one: after the clock was set back, pictures in use would otherwise be evicted
   * before those that nobody has asked for since.
   */
  let latest: number | null = null;
  async function tick(): Promise<number> {
    if (latest === null) {
      const last = db.selectFrom('pictures').select((eb) => eb.fn.max('used').as('used'));
      const stored = Number((await last.executeTakeFirst())?.used ?? 0);
      latest = Math.max(latest ?? 0, stored);
    }
    const at = now();
    latest = at > latest ? at : latest + 1;
    return latest;
  }

  /** Deletes a file and its row. The transaction keeps a new row of the same key waiting until both are gone. */
  function remove(key: string): Promise<void> {
    return atomically(db, async (tx) => {
      if (arriving.has(key)) return;
      await rm(pathOf(key), { force: true });
      await tx.deleteFrom('pictures').where('picture_key', '=', key).execute();
    });
  }

  /** The picture is there, or can be made again: a fault of the disk is reported, and the call goes on. */
  const goOn = (error: unknown) => {
    if (!findStorageFault(error)) throw error;
    report(error);
  };

  /** @param share `guests` drives out only what was stored for guests */
  async function evict(share: PictureShare): Promise<void> {
    const sums = await db
      .selectFrom('pictures')
      .select(['guests', (eb) => eb.fn.sum('bytes').as('bytes')])
      .groupBy('guests')
      .execute();
    const sumOf = (guests: number) => Number(sums.find((sum) => sum.guests === guests)?.bytes ?? 0);
    forGuests = sumOf(1);
    total = sumOf(0) + forGuests;
    const keep = 1 - FREED_SHARE;
    const isOver = (part = 1) =>
      total > limitBytes * part || (share === 'guests' && forGuests > guestLimitBytes * part);
    if (!isOver()) return;
    const all = db.selectFrom('pictures').select(['picture_key', 'bytes', 'guests']).orderBy('used');
    const oldest = await (share === 'guests' ? all.where('guests', '=', 1) : all).execute();
    for (const { picture_key, bytes, guests } of oldest) {
      if (!isOver(keep)) return;
      await remove(picture_key);
      total -= bytes;
      if (guests === 1) forGuests -= bytes;
    }
  }

  async function write(key: string, bytes: Uint8Array, row: Row): Promise<void> {
    const temporary = `${pathOf(key)}.${randomUUID()}${PARTIAL}`;
    arriving.set(key, (arriving.get(key) ?? 0) + 1);
    try {
      await writeFile(temporary, bytes);
      await db
        .insertInto('pictures')
        .values({ picture_key: key, ...row })
        .onConflict((on) =>
          // what others have asked for too stays theirs
          on.column('picture_key').doUpdateSet({ ...row, guests: sql<number>`min(pictures.guests, excluded.guests)` }),
        )
        .execute();
      await rename(temporary, pathOf(key));
    } catch (error) {
      await rm(temporary, { force: true }).catch(() => undefined);
      throw error;
    } finally {
      const others = arriving.get(key)! - 1;
      if (others > 0) arriving.set(key, others);
      else arriving.delete(key);
    }
    total += bytes.length;
    if (row.guests === 1) forGuests += bytes.length;
    if (total > limitBytes || (row.guests === 1 && forGuests > guestLimitBytes)) {
      const share = row.guests === 1 ? 'guests' : 'others';
      // one eviction at a time: two would evict the same pictures and count them twice
      while (evicting) await evicting.catch(() => undefined);
      evicting = evict(share).finally(() => {
        evicting = null;
      });
      await evicting.catch(goOn);
    }
  }

  async function listRows(keys: readonly string[]): Promise<Map<string, StoredBytes>> {
    const held = new Map<string, StoredBytes>();
    for (let at = 0; at < keys.length; at += KEYS_AT_ONCE) {
      const rows = await db
        .selectFrom('pictures')
        .select(['picture_key', 'sha256', 'bytes'])
        .where('picture_key', 'in', keys.slice(at, at + KEYS_AT_ONCE))
        .execute();
      for (const { picture_key, sha256, bytes } of rows) held.set(picture_key, { sha256, bytes });
    }
    return held;
  }

  /** Those of the rows whose file is there, with its length: after a crash it may be missing or short. */
  async function listHeld(keys: readonly string[]): Promise<Map<string, StoredBytes>> {
    const held = await listRows(keys);
    const isThere = pLimit(FILES_AT_ONCE);
    await isThere.map(held, async ([key, { bytes }]) => {
      const file = await stat(pathOf(key)).catch(() => null);
      if (file?.size !== bytes) held.delete(key);
    });
    return held;
  }

  return {
    listHeld,

    async reconcile(signal) {
      const removed = { files: 0, rows: 0 };
      const names = (await readdir(folder)).filter((name) => !name.endsWith(PARTIAL));
      for (let at = 0; at < names.length && !signal?.aborted; at += KEYS_AT_ONCE) {
        const some = names.slice(at, at + KEYS_AT_ONCE);
        const held = await listRows(some);
        for (const name of some) {
          // a row comes before its file, so a file without one is left from a crash
          if (held.has(name) || arriving.has(name)) continue;
          await remove(name);
          removed.files++;
        }
      }
      const there = new Set(names);
      for (let last = ''; !signal?.aborted; ) {
        const rows = await db
          .selectFrom('pictures')
          .select('picture_key')
          .where('picture_key', '>', last)
          .orderBy('picture_key')
          .limit(KEYS_AT_ONCE)
          .execute();
        if (rows.length === 0) break;
        last = rows.at(-1)!.picture_key;
        for (const { picture_key } of rows) {
          // one that arrived since the folder was listed is there
          if (there.has(picture_key) || arriving.has(picture_key) || existsSync(pathOf(picture_key))) continue;
          await remove(picture_key);
          removed.rows++;
        }
      }
      return removed;
    },

    async get(key, share = 'others') {
      const row = await db.selectFrom('pictures').selectAll().where('picture_key', '=', key).executeTakeFirst();
      if (!row) return null;
      const bytes = await readFile(pathOf(key)).catch(() => null);
      if (!bytes || bytes.length !== row.bytes || (await digest(bytes)) !== row.sha256) {
        await remove(key).catch(goOn);
        return null;
      }
      const isTaken = row.guests === 1 && share === 'others';
      const used = await tick();
      // with the clock set back, uses are counted: then each one is written, or newer pictures would outlive those in use
      if (isTaken || used - row.used >= usedApartMs || used > now()) {
        await db
          .updateTable('pictures')
          .set({ used, ...(isTaken && { guests: 0 }) })
          .where('picture_key', '=', key)
          .execute()
          .then(() => undefined, goOn);
      }
      return { bytes, sha256: row.sha256, mediaType: row.media_type };
    },

    async put(key, bytes, mediaType, share = 'others') {
      const sha256 = await digest(bytes);
      const guests = share === 'guests' ? 1 : 0;
      try {
        await write(key, bytes, { sha256, bytes: bytes.length, media_type: mediaType, used: await tick(), guests });
      } catch (fault) {
        goOn(fault);
        return { bytes, sha256, mediaType, fault };
      }
      return { bytes, sha256, mediaType };
    },
  };
}

/** SHA-256, hex; off the event loop for what is large: a levelled map may have a hundred megabytes. */
export async function digest(bytes: Uint8Array): Promise<string> {
  if (bytes.length <= HASHED_AT_ONCE) return createHash('sha256').update(bytes).digest('hex');
  return Buffer.from(await webcrypto.subtle.digest('SHA-256', bytes as Uint8Array<ArrayBuffer>)).toString('hex');
}

type Row = Required<Omit<Insertable<Tables['pictures']>, 'picture_key'>>;

/** Deletes files that a crash left half written. */
function sweep(folder: string): void {
  for (const name of readdirSync(folder)) if (name.endsWith(PARTIAL)) rmSync(join(folder, name), { force: true });
}
