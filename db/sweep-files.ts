import type { Kysely } from 'kysely';
import type { ContentFiles } from './create-files.ts';
import type { PictureFolder } from './create-picture-store.ts';
import { listReferences } from './list-references.ts';
import type { Tables } from './tables.ts';
import { atomically } from './transactions.ts';

export interface Sweep {
  readonly db: Kysely<Tables>;
  readonly files: ContentFiles;
  readonly pictures: PictureFolder;
  /** How long a file stays after the sweep first found it unused, ms. */
  readonly graceMs: number;
  /** How long a file stays after a call stored it or asked for it, ms. */
  readonly askedMs?: number;
  readonly now?: () => number;
  readonly signal?: AbortSignal;
}

export interface Swept {
  /** Files that nothing refers to and that stay until their grace time ends. */
  readonly unused: number;
  readonly removed: number;
  readonly removedBytes: number;
}

const ASKED_MS = 3_600_000;
const AT_ONCE = 200;

/**
 * Deletes content files that nothing has referred to for the grace time, and corrects the pictures. It runs in short steps
 * beside the service.
 *
 * A file is deleted when two sweeps, a grace time apart, found no reference to it, and no sweep in between found one. A
 * call that begins to use a file while this sweep runs either stores the file, asks for it in the folder, or asks for its
 * image in the database. The folder remembers the first two; the third removes the mark. So the file stays.
 */
export async function sweepFiles(options: Sweep): Promise<Swept> {
  const { db, files, pictures, graceMs, askedMs = ASKED_MS, now = Date.now, signal } = options;
  const startedAt = now();
  await pictures.reconcile(signal);
  const referenced = new Set<string>();
  for await (const { sha256 } of listReferences(db)) {
    referenced.add(sha256);
    if (signal?.aborted) return { unused: 0, removed: 0, removedBytes: 0 };
  }
  const marks = new Map(
    (await db.selectFrom('unused_files').selectAll().execute()).map(({ sha256, since }) => [sha256, since]),
  );
  const used: string[] = [...marks.keys()].filter((sha256) => referenced.has(sha256));
  await unmark(db, used);
  let unused = 0;
  let removed = 0;
  let removedBytes = 0;
  for await (const listed of files.list()) {
    if (signal?.aborted) break;
    const free = listed.filter((sha256) => !referenced.has(sha256));
    // a mark from later than now is from before the clock was set back: the grace time begins again
    const isKnown = (sha256: string) => (marks.get(sha256) ?? Number.POSITIVE_INFINITY) <= startedAt;
    await mark(
      db,
      free.filter((sha256) => !isKnown(sha256)),
      startedAt,
    );
    for (const sha256 of free) {
      const since = isKnown(sha256) ? marks.get(sha256)! : startedAt;
      const isDue = since <= startedAt - graceMs && (await forget(db, sha256, since));
      const bytes = isDue ? await files.removeUnused(sha256, startedAt - askedMs) : null;
      if (bytes === null) unused++;
      else {
        removed++;
        removedBytes += bytes;
      }
    }
  }
  return { unused, removed, removedBytes };
}

async function mark(db: Kysely<Tables>, digests: readonly string[], since: number): Promise<void> {
  for (let at = 0; at < digests.length; at += AT_ONCE) {
    const rows = digests.slice(at, at + AT_ONCE).map((sha256) => ({ sha256, since }));
    await db
      .insertInto('unused_files')
      .values(rows)
      .onConflict((on) => on.column('sha256').doUpdateSet({ since }))
      .execute();
  }
}

async function unmark(db: Kysely<Tables>, digests: readonly string[]): Promise<void> {
  for (let at = 0; at < digests.length; at += AT_ONCE) {
    await db
      .deleteFrom('unused_files')
      .where('sha256', 'in', digests.slice(at, at + AT_ONCE))
      .execute();
  }
}

/**
 * Forgets what is known of an unused file, so that no new reference to it can be made before the file goes: a finish
 * takes only images that are listed.
 * @returns false when someone has asked for the file since, or a model or delivery has it now
 */
function forget(db: Kysely<Tables>, sha256: string, since: number): Promise<boolean> {
  return atomically(db, async (tx) => {
    const isMarked = await tx
      .deleteFrom('unused_files')
      .where('sha256', '=', sha256)
      .where('since', '=', since)
      .returning('since')
      .executeTakeFirst();
    if (!isMarked) return false;
    const model = await tx
      .selectFrom('models')
      .select('revision')
      .where((eb) => eb.or([eb('sha256', '=', sha256), eb('received_sha256', '=', sha256)]))
      .executeTakeFirst();
    const delivery = await tx
      .selectFrom('deliveries')
      .select('delivery')
      .where('sha256', '=', sha256)
      .executeTakeFirst();
    if (model || delivery) return false;
    await tx.deleteFrom('images').where('sha256', '=', sha256).execute();
    await tx.deleteFrom('map_facts').where('sha256', '=', sha256).execute();
    return true;
  });
}

/** A while after the start, so that a start is quick; then four times a day. */
const FIRST_MS = 60_000;
const APART_MS = 6 * 3_600_000;

/**
 * Sweeps now and then, until it is stopped.
 * @param report gets the error of a sweep; the next one tries again
 */
export function sweepRegularly(
  sweep: (signal: AbortSignal) => Promise<unknown>,
  report: (error: unknown) => void,
): { stop(): Promise<void> } {
  const ending = new AbortController();
  let running: Promise<unknown> = Promise.resolve();
  let timer = setTimeout(run, FIRST_MS).unref();
  function run(): void {
    running = sweep(ending.signal)
      .catch(report)
      .finally(() => {
        if (!ending.signal.aborted) timer = setTimeout(run, APART_MS).unref();
      });
  }
  return {
    async stop() {
      ending.abort();
      clearTimeout(timer);
      await running;
    },
  };
}
