import { linearToHex } from '../colour/srgb.ts';
import type { ResolvedFinish } from '../finish/resolve-finish.ts';
import { type Finding, makeFinding } from '../product/finding.ts';
import type { Slot } from '../product/slot.ts';
import type { Survey } from '../product/survey.ts';
import { choiceOf, type Schedule } from '../schedule/schedule.ts';
import { findDetailMean } from './find-detail-mean.ts';
import { findWear } from './find-wear.ts';
import { judgeWear } from './judge-wear.ts';
import { makeDressableLister } from './list-dressable.ts';
import { reachDetail } from './reach-detail.ts';

/**
 * Finishes of a schedule that what a slot keeps of its part is too dark or too smooth to take on: its neutral detail map,
 * its roughness map. Each slot and finish once a map.
 * @param resolve a finish by its code
 */
export function listOutOfReach(
  survey: Survey,
  slots: readonly Slot[],
  schedule: Schedule,
  resolve: (code: string) => ResolvedFinish,
): Finding[] {
  const listDressable = makeDressableLister(survey);
  return slots.flatMap((slot) => {
    if (slot.fixed) return [];
    const dressed = listDressable(slot);
    const means = dressed.flatMap(({ fact }) => findDetailMean(slot, fact.material, survey) ?? []);
    const wears = dressed.flatMap(({ fact }) => findWear(slot, fact, survey) ?? []);
    if (means.length === 0 && wears.length === 0) return [];
    const codes = new Set(schedule.variants.flatMap(({ choices }) => choiceOf(choices, slot.slot) ?? []));
    return [...codes].flatMap((code) => {
      const finish = resolve(code);
      const detail = means.length > 0 ? judgeReach(slot, finish, Math.min(...means)) : null;
      return [...(detail ? [detail] : []), ...judgeWear(slot, finish, wears)];
    });
  });
}

/** The finding of one finish on one slot, or null where it is within reach, lays a colour map of its own or is delivered as supplied. */
export function judgeReach(slot: Pick<Slot, 'slot' | 'label'>, finish: ResolvedFinish, mean: number): Finding | null {
  if (finish.maps.colour || finish.supplied !== null) return null;
  const { demand, colour, deltaE } = reachDetail(finish.baseColour, mean);
  if (deltaE === 0) return null;
  return makeFinding('out-of-reach', {
    where: `slot ${slot.slot}`,
    place: `“${slot.label}” in ${finish.finish}`,
    message:
      `${finish.finish} (${finish.hex}) is lighter than the detail map of “${slot.label}” can carry: its mean is ` +
      `${mean.toFixed(3)}, and the factor would have to be ${demand.toFixed(2)} where 1 is the most. What can be reached is ` +
      `${linearToHex(colour)}, ΔE00 ${deltaE.toFixed(1)} away. Lighten the map, or let the slot not keep its detail.`,
    seen: { finish: finish.finish, factor: demand, hex: linearToHex(colour), deltaE },
    expected: { finish: finish.finish, factor: '1 or less', hex: finish.hex },
  });
}
