import type { PairTable } from './pair-compatibility.ts';

/** How a walk ended: all were visited, the visitor had enough, or the work limit was reached. */
export type WalkEnd = 'all' | 'enough' | 'work-limit';

/** Pairs looked at before a walk is given up: rules can be such that almost every way ends nowhere. */
export const WORK_LIMIT = 100_000_000;

/**
 * Visits every valid combination of a table, the last column changing quickest. Goes depth first over the columns; a choice
 * takes what it bars out of the columns behind it, so that a way is left as soon as one of them has nothing left.
 * @param visit is given the index of the finish in every column, in a list that is used again; false ends the walk
 */
export function visitCombinations(
  { columns, barred }: PairTable,
  visit: (chosen: readonly number[]) => boolean,
  workLimit = WORK_LIMIT,
): WalkEnd {
  const n = columns.length;
  // how many of the choices so far bar a finish, and how many finishes none bars
  const bars = columns.map(({ finishes }) => new Int32Array(finishes.length));
  const free = columns.map(({ finishes }) => finishes.length);
  const behind = columns.map((_, a) =>
    columns.flatMap((_, b) => {
      const pairs = b > a ? barred.get(a * n + b) : undefined;
      return pairs ? [{ b, pairs }] : [];
    }),
  );
  const chosen = new Array<number>(n).fill(0);
  let work = 0;

  /** Bars (step 1) or frees again (step −1) what the choice excludes; false when a column has nothing left. */
  const mark = (a: number, choice: number, step: 1 | -1): boolean => {
    let open = true;
    for (const { b, pairs } of behind[a]!) {
      const counts = bars[b]!;
      const start = choice * counts.length;
      work += counts.length;
      for (let j = 0; j < counts.length; j++) {
        if (pairs[start + j] !== 0) continue;
        counts[j]! += step;
        if (counts[j] === (step === 1 ? 1 : 0)) free[b]! -= step;
      }
      if (free[b] === 0) open = false;
    }
    return open;
  };

  const walk = (a: number): WalkEnd => {
    if (a === n) return visit(chosen) ? 'all' : 'enough';
    const counts = bars[a]!;
    for (let choice = 0; choice < counts.length; choice++) {
      if (counts[choice] !== 0) continue;
      if (++work > workLimit) return 'work-limit';
      chosen[a] = choice;
      const open = mark(a, choice, 1);
      const end = open ? walk(a + 1) : 'all';
      mark(a, choice, -1);
      if (end !== 'all') return end;
    }
    return 'all';
  };
  return walk(0);
}
