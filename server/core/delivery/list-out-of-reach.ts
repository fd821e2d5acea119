import type { ResolvedFinish } from '../finish/resolve-finish.ts';
import type { Finding } from '../product/finding.ts';
import type { Slot } from '../product/slot.ts';
import type { Survey } from '../product/survey.ts';
import { choiceOf, type Schedule } from '../schedule/schedule.ts';
import { judgeDetail } from './divide-by-detail-mean.ts';
import { judgeWear } from './judge-wear.ts';
import { findDetail, findWear } from './kept-maps.ts';
import { makeDressableLister } from './list-dressable.ts';

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
    const details = new Set(dressed.flatMap(({ fact }) => findDetail(slot, fact.material, survey) ?? []));
    const wears = dressed.flatMap(({ fact }) => findWear(slot, fact, survey) ?? []);
    if (details.size === 0 && wears.length === 0) return [];
    const codes = new Set(schedule.variants.flatMap(({ choices }) => choiceOf(choices, slot.slot) ?? []));
    return [...codes].flatMap((code) => {
      const finish = resolve(code);
      return [...judgeDetail(slot, finish, [...details]), ...judgeWear(slot, finish, wears)];
    });
  });
}
