import type { CombinationCount } from '../../../../server/core/combinations/count-combinations.ts';
import type { CheckSetFigures, CountAnswer } from '../../../../server/http/contracts/schedule.ts';
import { count, formatNumber } from '../../../format.ts';

/** A count of the API as the core has it: large ones come as words. */
export function readCount(answer: CountAnswer): CombinationCount {
  return answer.exact
    ? { count: BigInt(answer.count), exact: true }
    : { lower: BigInt(answer.lower), upper: BigInt(answer.upper), exact: false };
}

/** “9 520 combinations”, “1 combination”, “no combination”, “between 10 and 20 combinations”. */
export function sayCount(counted: CombinationCount): string {
  if (!counted.exact) return `between ${formatNumber(counted.lower)} and ${formatNumber(counted.upper)} combinations`;
  if (counted.count === 0n) return 'no combination';
  return `${formatNumber(counted.count)} ${counted.count === 1n ? 'combination' : 'combinations'}`;
}

export type CheckSetKind = 'each-finish' | 'pairs';

/** What adding a check set comes to, in sentences. */
export function sayCheckSet(kind: CheckSetKind, set: CheckSetFigures): string {
  const all = kind === 'pairs' ? count(set.pairs ?? 0, 'allowed pair') : count(set.finishes ?? 0, 'finish', 'finishes');
  const what = kind === 'pairs' ? ['pair', 'pairs'] : ['finish', 'finishes'];
  const sentences =
    set.added === 0
      ? [`Nothing to add: the rows that stand show all ${all}.`]
      : [
          set.standing === 0
            ? `Adds ${count(set.added, 'row')}, which show all ${all}.`
            : `Adds ${count(set.added, 'row')} to the ${formatNumber(set.standing)} that stand and count; together they show all ${all}.`,
        ];
  if (set.added > 0 && set.standing === 0) {
    sentences.push(
      set.added === set.bound
        ? 'Fewer would not do.'
        : `Without rules at least ${formatNumber(set.bound)} would be needed.`,
    );
  }
  if (set.impossible > 0) {
    const [one, many] = what as [string, string];
    sentences.push(
      `${count(set.impossible, one, many)} ${set.impossible === 1 ? 'is' : 'are'} in no valid combination and left out.`,
    );
    if (set.unsettled > 0)
      sentences.push(`For ${formatNumber(set.unsettled)} of them the search for one was given up.`);
  }
  return sentences.join(' ');
}
