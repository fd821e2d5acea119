import { linearToLab } from '../colour/lab.ts';
import type { Finish } from './finish.ts';
import { type JudgedTolerance, judgeDifference } from './judge-difference.ts';
import type { ResolvedFinish } from './resolve-finish.ts';
import { toleranceOf } from './tolerances.ts';

/**
 * How far what is delivered is from what was specified, held against what the trade allows of the finish. A coating that is
 * said to be metal has flakes in it: bare metal is a family of its own.
 */
export function judgeFinish(
  { family }: Pick<Finish, 'family'>,
  { specifiedLab, baseColour, metalness }: Pick<ResolvedFinish, 'specifiedLab' | 'baseColour' | 'metalness'>,
): JudgedTolerance {
  return judgeDifference(specifiedLab, linearToLab(baseColour), toleranceOf(family, metalness === 1));
}
