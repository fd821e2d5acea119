import { foldCode } from '../codes.ts';
import type { Finish } from '../finish/finish.ts';
import type { RangedFinish } from '../line/line.ts';
import { takesFinishes } from '../line/rules.ts';
import { type Finding, makeFinding } from '../product/finding.ts';
import type { Slot } from '../product/slot.ts';
import type { Sliced } from '../slices.ts';
import { listMisnamed, type Misnamed } from './check-names.ts';
import { choiceOf, type Schedule, type Variant } from './schedule.ts';

/** Places that a finding lists in full. */
const LISTED = 20;

/**
 * Reports variants that look the same, and variants that are named after a finish they do not have: one finding each.
 */
export function* checkVariants(
  schedule: Schedule,
  slots: readonly Slot[],
  finishes: ReadonlyMap<string, Finish>,
  range: readonly RangedFinish[],
): Sliced<Finding[]> {
  return [...checkTwins(schedule, slots), ...checkMisnamed(yield* listMisnamed(schedule, slots, finishes, range))];
}

function checkTwins(schedule: Schedule, slots: readonly Slot[]): Finding[] {
  const changing = slots.filter((slot) => takesFinishes(slot));
  if (changing.length === 0) return [];
  const byChoices = new Map<string, Variant[]>();
  for (const variant of schedule.variants) {
    const key = changing.map(({ slot }) => foldCode(choiceOf(variant.choices, slot) ?? '')).join('\n');
    const alike = byChoices.get(key);
    if (alike) alike.push(variant);
    else byChoices.set(key, [variant]);
  }
  const groups = [...byChoices.values()].filter(({ length }) => length > 1);
  const [first] = groups;
  if (!first) return [];
  return [
    makeFinding(
      'same-choices',
      { names: first.map(({ name }) => name), others: groups.length - 1 },
      {
        where: 'schedule',
        seen: groups.slice(0, LISTED).map((group) => group.map(({ code }) => code)),
        expected: 'different choices in every variant',
      },
    ),
  ];
}

function checkMisnamed(wrong: readonly Misnamed[]): Finding[] {
  const [first] = wrong;
  if (!first) return [];
  return [
    makeFinding(
      'name-says-another-finish',
      { variants: wrong.length, ...first },
      {
        where: 'schedule',
        seen: wrong.slice(0, LISTED),
        expected: 'names and codes of finishes that the variant has',
      },
    ),
  ];
}
