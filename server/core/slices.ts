/**
 * Work in slices of some milliseconds: it pauses after each. Whoever has other calls to answer does those between two slices.
 */
export type Sliced<T> = Generator<undefined, T, undefined>;

/** Entries of a long list, such as rows of a schedule, for one slice. */
export const SLICE = 500;

/** Does sliced work without pauses: in a thread of its own, or where nobody else waits. */
export function finish<T>(work: Sliced<T>): T {
  for (;;) {
    const { done, value } = work.next();
    if (done) return value;
  }
}
