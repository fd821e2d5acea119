import type { Finish } from './finish.ts';
import { type JudgedTolerance, judgeDifference } from './judge-difference.ts';
import type { ResolvedFinish } from './resolve-finish.ts';
import { toleranceOf } from './tolerances.ts';

/**
 * How far what is delivered is from what was specified, held against what the trade allows of the finish; nothing is
 * judged of what cannot be measured. A coating that is said to be metal has flakes in it: bare metal is a family of its own.
 */
export function judgeFinish(
  { family }: Pick<Finish, 'family'>,
  { specifiedLab, delivered, metalness }: Pick<ResolvedFinish, 'specifiedLab' | 'delivered' | 'metalness'>,
): JudgedTolerance {
  const tolerance = toleranceOf(family, metalness === 1);
  if (!delivered) return { ...tolerance, difference: null, within: null };
  return judgeDifference(specifiedLab, delivered.lab, tolerance);
}
