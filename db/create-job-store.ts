import type { Kysely, Selectable } from 'kysely';
import type { Job, JobStore } from '../server/core/ports/jobs.ts';
import type { Tables } from './tables.ts';

export function createJobStore(db: Kysely<Tables>): JobStore {
  return {
    async add(job) {
      const { id, kind, product, total, request, ...progress } = job;
      const data = JSON.stringify({ kind, product, total, request });
      await db
        .insertInto('jobs')
        .values({ id, data, state: job.state, progress: JSON.stringify(progress) })
        .execute();
    },

    async saveProgress({ id, state, done, failed, failures }) {
      const progress = JSON.stringify({ state, done, failed, failures });
      await db.updateTable('jobs').set({ state, progress }).where('id', '=', id).execute();
    },

    async get(id) {
      const row = await db.selectFrom('jobs').selectAll().where('id', '=', id).executeTakeFirst();
      return row ? readJob(row) : null;
    },

    async listOpen() {
      const rows = await db
        .selectFrom('jobs')
        .selectAll()
        .where('state', 'in', ['queued', 'running'])
        .orderBy('ordinal')
        .execute();
      return rows.map(readJob);
    },
  };
}

function readJob({ id, data, progress }: Selectable<Tables['jobs']>): Job {
  return { id, ...(JSON.parse(data) as object), ...(JSON.parse(progress) as object) } as Job;
}
