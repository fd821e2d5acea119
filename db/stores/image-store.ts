import type { Kysely } from 'kysely';
import { type ImageEncoding, MAP_FACTS_FORMAT, type MapFacts } from '../../server/core/finish/map-image.ts';
import type { StoredImage, Stores } from '../../server/core/ports/stores.ts';
import { ignoreStorageFault } from '../../server/core/storage-faults.ts';
import type { Tables } from '../tables.ts';
import { atomically } from '../transactions.ts';

/** Uploaded images by SHA-256, and the measurements of those that are maps. */
export function createImageStore(
  db: Kysely<Tables>,
): Pick<Stores, 'addFile' | 'getFile' | 'getMapFacts' | 'putMapFacts'> {
  return {
    async addFile(file) {
      const encoding = file.encoding && JSON.stringify(file.encoding);
      await atomically(db, async (tx) => {
        await tx
          .insertInto('images')
          .values({
            sha256: file.sha256,
            bytes: file.bytes,
            mime_type: file.mimeType,
            width_px: file.widthPx,
            height_px: file.heightPx,
            encoding,
          })
          .onConflict((on) => on.column('sha256').doUpdateSet({ encoding }).where('images.encoding', 'is', null))
          .execute();
        // a file that was unused is new again
        await tx.deleteFrom('unused_files').where('sha256', '=', file.sha256).execute();
      });
    },

    async getFile(sha256) {
      const row = await db
        .selectFrom('images')
        .leftJoin('unused_files', 'unused_files.sha256', 'images.sha256')
        .selectAll('images')
        .select('unused_files.since')
        .where('images.sha256', '=', sha256)
        .executeTakeFirst();
      // whoever asks for an unused image may be about to use it
      if (row && row.since !== null) {
        await db.deleteFrom('unused_files').where('sha256', '=', sha256).execute().catch(ignoreStorageFault);
      }
      return row
        ? {
            sha256: row.sha256,
            bytes: row.bytes,
            mimeType: row.mime_type as StoredImage['mimeType'],
            widthPx: row.width_px,
            heightPx: row.height_px,
            encoding: row.encoding === null ? null : (JSON.parse(row.encoding) as ImageEncoding),
          }
        : null;
    },

    async getMapFacts(sha256) {
      const row = await db
        .selectFrom('map_facts')
        .select('data')
        .where('sha256', '=', sha256)
        .where('format', '=', MAP_FACTS_FORMAT)
        .executeTakeFirst();
      return row ? (JSON.parse(row.data) as MapFacts | null) : undefined;
    },

    async putMapFacts(sha256, facts) {
      const row = { format: MAP_FACTS_FORMAT, data: JSON.stringify(facts) };
      await db
        .insertInto('map_facts')
        .values({ sha256, ...row })
        .onConflict((on) => on.column('sha256').doUpdateSet(row))
        .execute();
    },
  };
}
