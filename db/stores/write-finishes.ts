import type { Kysely } from 'kysely';
import { canonical } from '../../server/core/canonical.ts';
import { foldCode } from '../../server/core/codes.ts';
import type { Finish } from '../../server/core/finish/finish.ts';
import type { Change } from '../../server/core/history/history.ts';
import type { Stores } from '../../server/core/ports/stores.ts';
import { Problem } from '../../server/core/problems.ts';
import { FINISH_PROBLEMS } from '../../server/core/texts/problems/finish.ts';
import type { Tables } from '../tables.ts';
import { readFinish } from './finish-lists.ts';
import { recordFinishes } from './history-store.ts';

/** Finishes that one statement writes. It takes some milliseconds; then other work gets a turn. */
export const BATCH = 250;

/** The revision that a change is based on; null for a code that was new. */
export type KnownAs = (code: string) => number | null;

export interface PlannedRow {
  readonly finish_key: string;
  readonly article_key: string | null;
  readonly revision: number;
  readonly data: string;
}

interface Planned {
  /** Null for a finish that stays as it is. */
  readonly row: PlannedRow | null;
  readonly result: Awaited<ReturnType<Stores['putFinish']>>;
}

/** Writes finishes in their order; no two have the same code. @throws Problem `stale-finishes` */
export async function putBatch(
  tx: Kysely<Tables>,
  finishes: readonly Finish[],
  change: Change,
  knownAs?: KnownAs,
): Promise<readonly Planned[]> {
  const planned = await planBatch(tx, finishes, knownAs);
  await writeRows(
    tx,
    planned.flatMap(({ row }) => row ?? []),
    change,
  );
  return planned;
}

/** The rows of finishes, by what is stored. @throws Problem `stale-finishes` */
export async function planBatch(
  tx: Kysely<Tables>,
  finishes: readonly Finish[],
  knownAs?: KnownAs,
): Promise<Planned[]> {
  const keys = finishes.map(({ finish }) => foldCode(finish));
  const found = await tx
    .selectFrom('finishes')
    .select(['finish_key', 'data', 'revision'])
    .where('finish_key', 'in', keys)
    .execute();
  const known = new Map(found.map((row) => [row.finish_key, row]));
  const retired = known.size < keys.length ? await readRetired(tx, keys) : new Map<string, number>();
  return finishes.map((finish, i): Planned => {
    const before = known.get(keys[i]!);
    if (knownAs && (before?.revision ?? null) !== knownAs(finish.finish)) throw staleFinish(finish.finish);
    // a code keeps the case in which it was first written
    const kept: Finish = before ? { ...finish, finish: readFinish(before).finish } : finish;
    if (before && isSame(before.data, kept))
      return { row: null, result: { created: false, finish: readFinish(before) } };
    const revision = (before?.revision ?? retired.get(keys[i]!) ?? 0) + 1;
    const article_key = kept.article ? foldCode(kept.article) : null;
    const row = { finish_key: keys[i]!, article_key, revision, data: JSON.stringify(kept) };
    return { row, result: { created: before === undefined, finish: { ...kept, revision } } };
  });
}

export async function writeRows(tx: Kysely<Tables>, rows: readonly PlannedRow[], change: Change): Promise<void> {
  if (rows.length === 0) return;
  await tx
    .insertInto('finishes')
    .values(rows)
    .onConflict((on) =>
      on.column('finish_key').doUpdateSet((eb) => ({
        article_key: eb.ref('excluded.article_key'),
        revision: eb.ref('excluded.revision'),
        data: eb.ref('excluded.data'),
      })),
    )
    .execute();
  await recordFinishes(tx, { keys: rows.map(({ finish_key }) => finish_key) }, change);
}

/** Whether a definition equals the stored one, in any order of fields. */
export function isSame(data: string, definition: object): boolean {
  return data === JSON.stringify(definition) || canonical(JSON.parse(data)) === canonical(definition);
}

export function staleFinish(code: string): Problem {
  return new Problem('stale-finishes', {
    detail: FINISH_PROBLEMS['stale-finishes'].file(code),
    received: code,
  });
}

/** The last revisions of finishes that were deleted. */
async function readRetired(tx: Kysely<Tables>, keys: readonly string[]): Promise<Map<string, number>> {
  const rows = await tx
    .selectFrom('retired_finishes')
    .select(['finish_key', 'revision'])
    .where('finish_key', 'in', keys)
    .execute();
  return new Map(rows.map(({ finish_key, revision }) => [finish_key, revision]));
}
