import { type EventEntry, type History, isRevision, type RevisionEntry } from './history.ts';
import { type Difference, listDifferences } from './list-differences.ts';

/** One revision beside the one before it. */
export interface ToldRevision<T> {
  readonly entry: RevisionEntry<T>;
  /**
   * Whether something new starts here: the first revision known, or the first under a code whose earlier finish was
   * deleted. Such a revision has nothing it is compared with.
   */
  readonly starts: boolean;
  readonly before: RevisionEntry<T> | null;
  readonly changes: readonly Difference[];
}

export interface ToldHistory<T> {
  /** The latest first. */
  readonly revisions: readonly ToldRevision<T>[];
  /** The latest first. */
  readonly events: readonly EventEntry[];
}

/**
 * Lays out what was taken down of a code, and works out what changed from one revision to the next. Numbers of revisions
 * run on over a deletion, contents are not compared over it.
 * @param listMore changes that the definition does not hold itself, such as those of an article
 */
export function describeHistory<T extends object>(
  history: History<T>,
  listMore: (before: RevisionEntry<T>, after: RevisionEntry<T>) => readonly Difference[] = () => [],
): ToldHistory<T> {
  const revisions: ToldRevision<T>[] = [];
  const events: EventEntry[] = [];
  let before: RevisionEntry<T> | null = null;
  for (const entry of history) {
    if (!isRevision(entry)) {
      events.push(entry);
      if (entry.what === 'deleted') before = null;
      continue;
    }
    revisions.push({
      entry,
      starts: before === null,
      before,
      changes: before ? [...listDifferences(before.definition, entry.definition), ...listMore(before, entry)] : [],
    });
    before = entry;
  }
  return { revisions: revisions.reverse(), events: events.reverse() };
}
