import type { Kysely } from 'kysely';
import { foldCode } from '../../server/core/codes.ts';
import type { PictureSet } from '../../server/core/picture/picture-set.ts';
import type { Stores } from '../../server/core/ports/stores.ts';
import type { Tables } from '../tables.ts';

export function createPictureSetStore(
  db: Kysely<Tables>,
): Pick<Stores, 'listPictureSets' | 'putPictureSet' | 'deletePictureSet'> {
  return {
    async listPictureSets() {
      const rows = await db.selectFrom('picture_sets').select('data').orderBy('set_key').execute();
      return rows.map((row) => JSON.parse(row.data) as PictureSet);
    },

    putPictureSet(set) {
      return db.transaction().execute(async (tx) => {
        const set_key = foldCode(set.code);
        const known = await tx
          .selectFrom('picture_sets')
          .select('set_key')
          .where('set_key', '=', set_key)
          .executeTakeFirst();
        const data = JSON.stringify(set);
        await tx
          .insertInto('picture_sets')
          .values({ set_key, data })
          .onConflict((on) => on.column('set_key').doUpdateSet({ data }))
          .execute();
        return known === undefined;
      });
    },

    async deletePictureSet(code) {
      const gone = await db.deleteFrom('picture_sets').where('set_key', '=', foldCode(code)).executeTakeFirst();
      return gone.numDeletedRows > 0n;
    },
  };
}
