import type { Kysely } from 'kysely';
import { MAP_FACTS_FORMAT, type MapFacts } from '../../server/core/finish/map-image.ts';
import type { Stores } from '../../server/core/ports/stores.ts';
import type { Tables } from '../tables.ts';

export function createMapFactsStore(db: Kysely<Tables>): Pick<Stores, 'getMapFacts' | 'putMapFacts'> {
  return {
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
