import { signal } from '@preact/signals';
import type { Line, RangeEntry } from '../../../../server/core/line/line.ts';
import type { ScheduleAnswer } from '../../../../server/http/contracts/schedule.ts';
import { ApiProblem, call, getErrorMessage, seg } from '../../../api.ts';
import { lineTexts } from '../../../texts/line.ts';
import { mergeDrafts } from '../../product/schedule/merge-drafts.ts';
import { type Draft, EMPTY, fromSchedule, toSchedule } from '../../product/schedule/schedule-draft.ts';
import type { LineChange } from '../line-changes.ts';
import { createLineWrites } from '../line-writes.ts';

/** A schedule before and after a discontinuation. */
interface Turned {
  readonly product: string;
  readonly before: Draft;
  readonly after: Draft;
}

/** What a discontinuation changed. */
export interface Discontinued {
  /** Address of the line. */
  readonly path: string;
  /** The finish in the range, as it was. */
  readonly entry: RangeEntry;
  readonly schedules: readonly Turned[];
}

/** Reads the schedules that a discontinuation will change. */
export async function readSchedules(products: readonly string[]): Promise<ReadonlyMap<string, Draft>> {
  const read = await Promise.all(
    products.map(async (product) => [product, (await readSchedule(product)).draft] as const),
  );
  return new Map(read);
}

/** Reads them again after it. @param before as `readSchedules` gave them */
export async function readTurned(before: ReadonlyMap<string, Draft>): Promise<Turned[]> {
  return Promise.all(
    [...before].map(async ([product, draft]) => ({
      product,
      before: draft,
      after: (await readSchedule(product, draft)).draft,
    })),
  );
}

/**
 * Takes a discontinuation back: the finish in the range, then each schedule. What others changed since stays.
 * @throws Error with a message that names the schedules that changed at the same places, and so stay as they are
 */
export async function undoDiscontinue({ path, entry, schedules }: Discontinued): Promise<void> {
  const writes = createLineWrites(path, signal<Line | null>(null));
  writes.receive(await call<Line>('GET', path));
  await writes.edit(reinstate(entry));
  const kept: string[] = [];
  for (const turned of schedules) {
    try {
      if (!(await restoreSchedule(turned))) kept.push(turned.product);
    } catch (error) {
      kept.push(`${turned.product} (${getErrorMessage(error).replace(/\.$/, '')})`);
    }
  }
  if (kept.length > 0) throw new Error(lineTexts.discontinue.notRestored(entry.finish, kept));
}

const reinstate =
  (entry: RangeEntry): LineChange =>
  (line) => ({
    ...line,
    range: line.range.map((now) => (now.finish === entry.finish && now.status === 'discontinued' ? entry : now)),
  });

/** @returns false where someone changed the same rows since, which then stay */
async function restoreSchedule({ product, before, after }: Turned): Promise<boolean> {
  const now = await readSchedule(product, after);
  const { merged, clashes } = mergeDrafts(after, before, now.draft);
  if (clashes.length > 0) return false;
  const json = { ...toSchedule(merged), template: merged.template ?? null };
  await call('PUT', getPath(product), { json, ifMatch: now.tag });
  return true;
}

const getPath = (product: string) => `/api/products/${seg(product)}/schedule`;

async function readSchedule(
  product: string,
  earlier: Draft = EMPTY,
): Promise<{ readonly draft: Draft; readonly tag: string | null }> {
  try {
    const { data, etag } = await call<ScheduleAnswer>('GET', getPath(product));
    return { draft: fromSchedule(data, earlier), tag: etag };
  } catch (error) {
    if (error instanceof ApiProblem && error.code === 'not-found') return { draft: EMPTY, tag: null };
    throw error;
  }
}
