import { type Kysely, type Selectable, sql } from 'kysely';
import { foldCode } from '../server/core/codes.ts';
import type { Job, JobStore, ListedJob } from '../server/core/job/job.ts';
import type { Tables } from './tables.ts';
import { atomically } from './transactions.ts';

/** Ended jobs that stay in the list. */
const JOBS_KEPT = 500;

export function createJobStore(db: Kysely<Tables>): JobStore {
  return {
    async add(job) {
      const { id, kind, product, line, total, request, remainingMs: _, ...progress } = job;
      const data = JSON.stringify({ kind, product, line, total, request });
      await atomically(db, async (tx) => {
        await tx
          .insertInto('jobs')
          .values({ id, data, state: job.state, progress: JSON.stringify(progress) })
          .execute();
        await sql`
          DELETE FROM jobs WHERE state NOT IN ('queued', 'running')
            AND ordinal <= (SELECT MAX(ordinal) FROM jobs) - ${JOBS_KEPT}
        `.execute(tx);
      });
    },

    async saveProgress({ id, state, done, failed, failures, finished, failedParts }) {
      const progress = JSON.stringify({ state, done, failed, failures, finished, failedParts });
      await atomically(db, (tx) => tx.updateTable('jobs').set({ state, progress }).where('id', '=', id).execute());
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

    async listLast(limit, { product, line, before } = {}) {
      const is = (field: string, code: string | undefined) =>
        code === undefined ? sql`TRUE` : sql`lower(json_extract(data, ${field})) = ${foldCode(code)}`;
      // a new product with the code of a deleted one does not inherit its jobs
      const ofExisting = product === undefined ? sql`TRUE` : sql`json_extract(data, '$.productGone') IS NULL`;
      // requests may name thousands of variants, and lists of jobs are asked for often
      const isEarlier = before === undefined ? sql`TRUE` : sql`ordinal < ${before}`;
      const { rows } = await sql<{ ordinal: number; id: string; data: string; progress: string }>`
        SELECT ordinal, id, json_remove(data, '$.request') AS data,
          json_remove(progress, '$.failures', '$.finished', '$.failedParts') AS progress
        FROM jobs WHERE ${is('$.product', product)} AND ${is('$.line', line)} AND ${ofExisting} AND ${isEarlier}
        ORDER BY ordinal DESC LIMIT ${limit}
      `.execute(db);
      return rows.map(
        ({ ordinal, id, data, progress }) =>
          ({ id, place: ordinal, ...JSON.parse(data), ...JSON.parse(progress) }) as ListedJob,
      );
    },
  };
}

function readJob({ id, data, progress }: Selectable<Tables['jobs']>): Job {
  const job = { id, ...JSON.parse(data), ...JSON.parse(progress) } as Job;
  if (job.finished) return job;
  // a job of an older version, which did the parts one after the other
  return { ...job, finished: job.done === 0 ? [] : [[0, job.done]], failedParts: [] };
}
