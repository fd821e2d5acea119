import { checkName } from '../codes.ts';
import { Problem } from '../problems.ts';
import { finish, type Sliced } from '../slices.ts';
import { CALL_PROBLEMS } from '../texts/problems/request.ts';
import { type Difference, listDifferences } from './compare-values.ts';

/**
 * Who says they made a change, and why. It is stated, not proven: the service has no accounts and records the name it
 * receives.
 */
export interface Author {
  /** Null where the caller did not say. */
  readonly person: string | null;
  readonly note?: string;
}

export const NOBODY: Author = { person: null };

/**
 * Characters of a note: a short letter, and the most that fits a header in any script (Node reads 16 kB of headers in
 * all).
 */
const NOTE_LENGTH = 1000;

/** When someone did something, and who says they did it. */
export interface Stamp extends Author {
  /** ISO 8601. */
  readonly at: string;
}

/**
 * The origin of a revision: `known` existed before histories were kept; `article-changed` is the same finish on another
 * revision of its article.
 */
export const WAYS = ['known', 'saved', 'imported', 'taken-in', 'article-changed'] as const;
export type Way = (typeof WAYS)[number];

/** A change of a definition that is about to be stored. */
export interface Change extends Stamp {
  readonly how: Exclude<Way, 'known' | 'article-changed'>;
}

/** Events of a finish that do not change its definition. `discontinued`: a line no longer sells it. */
export const EVENTS = ['discontinued', 'deleted'] as const;
export type EventKind = (typeof EVENTS)[number];

interface Entry {
  /** The revision that was made, or that was current at the time. */
  readonly revision: number;
  /** Null for a revision from before histories were kept. */
  readonly at: string | null;
  readonly person: string | null;
  readonly note?: string;
}

export interface RevisionEntry<T> extends Entry {
  readonly what: Way;
  readonly definition: T;
  /** Revision of the article that the finish used; null without an article. */
  readonly articleRevision: number | null;
}

export interface EventEntry extends Entry {
  readonly what: EventKind;
  /** Only of `discontinued`. */
  readonly line?: string;
  readonly replacedBy?: string;
}

/** All entries of one code, oldest first. */
export type History<T> = readonly (RevisionEntry<T> | EventEntry)[];

export const isRevision = <T>(entry: RevisionEntry<T> | EventEntry): entry is RevisionEntry<T> => 'definition' in entry;

/**
 * Returns an author in the stored form.
 * @throws Problem `name-too-long`, `invalid-name`, `invalid-field`
 */
export function checkAuthor(
  person: string | null,
  note: string | null,
  where: { person: string; note: string },
): Author {
  const kept = note?.normalize('NFC').trim() ?? '';
  if (kept.length > NOTE_LENGTH) {
    throw new Problem('invalid-field', {
      detail: CALL_PROBLEMS['invalid-field'].noteTooLong(kept.length, NOTE_LENGTH),
      expected: `${NOTE_LENGTH} characters at most`,
      received: `${kept.length} characters`,
      where: where.note,
    });
  }
  return {
    person: person === null || person.trim() === '' ? null : checkName(person, where.person),
    ...(kept !== '' && { note: kept }),
  };
}

/** One revision, compared with the one before it. */
export interface DescribedRevision<T> {
  readonly entry: RevisionEntry<T>;
  /**
   * Whether a new definition starts here: the first known revision, or the first after a deletion. Such a revision is
   * not compared.
   */
  readonly starts: boolean;
  readonly before: RevisionEntry<T> | null;
  readonly changes: readonly Difference[];
}

export interface DescribedHistory<T> {
  /** The latest first. */
  readonly revisions: readonly DescribedRevision<T>[];
  /** The latest first. */
  readonly events: readonly EventEntry[];
}

/**
 * Lists the revisions and events of a code, with the changes between revisions. Revision numbers continue after a
 * deletion; revisions before and after it are not compared.
 * @param listMore changes that are outside the definition, such as those of an article
 */
export function describeHistory<T extends object>(
  ...given: Parameters<typeof describeHistorySliced<T>>
): DescribedHistory<T> {
  return finish(describeHistorySliced(...given));
}

/** Revisions that are compared in one go, some milliseconds. */
const COMPARED_AT_ONCE = 100;

/** The same in slices: three thousand revisions take a fifth of a second. */
export function* describeHistorySliced<T extends object>(
  history: History<T>,
  listMore: (before: RevisionEntry<T>, after: RevisionEntry<T>) => readonly Difference[] = () => [],
): Sliced<DescribedHistory<T>> {
  const revisions: DescribedRevision<T>[] = [];
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
    if (revisions.length % COMPARED_AT_ONCE === 0) yield;
  }
  return { revisions: revisions.reverse(), events: events.reverse() };
}
