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
  {
    specifiedLab,
    baseColour,
    delivered,
    metalness,
  }: Pick<ResolvedFinish, 'specifiedLab' | 'baseColour' | 'delivered' | 'metalness'>,
): JudgedTolerance {
  // of what cannot be measured the colour it was made for is all that is known
  const lab = delivered?.lab ?? linearToLab(baseColour);
  return judgeDifference(specifiedLab, lab, toleranceOf(family, metalness === 1));
}
