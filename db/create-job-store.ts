import type { Kysely } from 'kysely';
import type { Job, JobStore } from '../server/core/ports/jobs.ts';
import type { Tables } from './tables.ts';

export function createJobStore(db: Kysely<Tables>): JobStore {
  return {
    async save(job) {
      const row = { state: job.state, data: JSON.stringify(job) };
      await db
        .insertInto('jobs')
        .values({ id: job.id, ...row })
        .onConflict((on) => on.column('id').doUpdateSet(row))
        .execute();
    },

    async get(id) {
      const row = await db.selectFrom('jobs').select('data').where('id', '=', id).executeTakeFirst();
      return row ? (JSON.parse(row.data) as Job) : null;
    },

    async listOpen() {
      const rows = await db
        .selectFrom('jobs')
        .select('data')
        .where('state', 'in', ['queued', 'running'])
        .orderBy('ordinal')
        .execute();
      return rows.map((row) => JSON.parse(row.data) as Job);
    },
  };
}
