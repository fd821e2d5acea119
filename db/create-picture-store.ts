import { randomUUID, webcrypto } from 'node:crypto';
import { mkdirSync, readdirSync, rmSync } from 'node:fs';
import { readFile, rename, rm, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import type { Kysely } from 'kysely';
import type { PictureStore, StoredBytes } from '../server/core/ports/stores.ts';
import type { Tables } from './tables.ts';

/** A full store frees this share at once, so it does not evict at every picture. */
const FREED_SHARE = 0.1;
const PARTIAL = '.part';
const USED_APART_MS = 60_000;
/** Keys in one query. SQLite accepts 32,766 values; shorter queries let others run in between. */
const KEYS_AT_ONCE = 500;

/**
 * Pictures in a folder. The database lists them with the time of their last use, and the least recently used are evicted
 * first. A picture can always be made again, so no file is synced.
 * @param usedApartMs precision of the time of last use: writing it at every read would cost more than the read
 */
export function createPictureStore(
  db: Kysely<Tables>,
  folder: string,
  limitBytes: number,
  usedApartMs = USED_APART_MS,
): PictureStore {
  mkdirSync(folder, { recursive: true });
  const pathOf = (key: string) => join(folder, key);
  sweep(folder);
  /** An estimate in bytes. Each eviction corrects it from the database. */
  let total = Number.POSITIVE_INFINITY;
  let evicting: Promise<void> | null = null;

  async function evict(): Promise<void> {
    const sum = await db
      .selectFrom('pictures')
      .select((eb) => eb.fn.sum('bytes').as('bytes'))
      .executeTakeFirst();
    total = Number(sum?.bytes ?? 0);
    if (total <= limitBytes) return;
    const target = limitBytes * (1 - FREED_SHARE);
    const oldest = await db.selectFrom('pictures').select(['picture_key', 'bytes']).orderBy('used').execute();
    for (const { picture_key, bytes } of oldest) {
      if (total <= target) return;
      await db.deleteFrom('pictures').where('picture_key', '=', picture_key).execute();
      await rm(pathOf(picture_key), { force: true });
      total -= bytes;
    }
  }

  return {
    async get(key) {
      const row = await db.selectFrom('pictures').selectAll().where('picture_key', '=', key).executeTakeFirst();
      const bytes = row && (await readFile(pathOf(key)).catch(() => null));
      if (!row || !bytes) return null;
      if (Date.now() - row.used >= usedApartMs) {
        await db.updateTable('pictures').set({ used: Date.now() }).where('picture_key', '=', key).execute();
      }
      return { bytes, sha256: row.sha256, mediaType: row.media_type };
    },

    async listHeld(keys) {
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
    },

    async put(key, bytes, mediaType) {
      // off the event loop: a levelled map may have a hundred megabytes
      const digest = await webcrypto.subtle.digest('SHA-256', bytes as Uint8Array<ArrayBuffer>);
      const sha256 = Buffer.from(digest).toString('hex');
      const temporary = `${pathOf(key)}.${randomUUID()}${PARTIAL}`;
      await writeFile(temporary, bytes);
      await rename(temporary, pathOf(key));
      const row = { sha256, bytes: bytes.length, media_type: mediaType, used: Date.now() };
      await db
        .insertInto('pictures')
        .values({ picture_key: key, ...row })
        .onConflict((on) => on.column('picture_key').doUpdateSet(row))
        .execute();
      total += bytes.length;
      if (total > limitBytes) {
        // one eviction at a time: two would evict the same pictures and count them twice
        evicting ??= evict().finally(() => {
          evicting = null;
        });
        await evicting;
      }
      return { bytes, sha256, mediaType };
    },
  };
}

/** Deletes files that a crash left half written. */
function sweep(folder: string): void {
  for (const name of readdirSync(folder)) if (name.endsWith(PARTIAL)) rmSync(join(folder, name), { force: true });
}
