import type { Kysely } from 'kysely';
import type { MapFacts } from '../../server/core/finish/map-facts.ts';
import type { Stores } from '../../server/core/ports/stores.ts';
import type { Tables } from '../tables.ts';

export function createMapFactsStore(db: Kysely<Tables>): Pick<Stores, 'getMapFacts' | 'putMapFacts'> {
  return {
    async getMapFacts(sha256) {
      const row = await db.selectFrom('map_facts').select('data').where('sha256', '=', sha256).executeTakeFirst();
      return row ? (JSON.parse(row.data) as MapFacts | null) : undefined;
    },

    async putMapFacts(sha256, facts) {
      const data = JSON.stringify(facts);
      await db
        .insertInto('map_facts')
        .values({ sha256, data })
        .onConflict((on) => on.column('sha256').doUpdateSet({ data }))
        .execute();
    },
  };
}
