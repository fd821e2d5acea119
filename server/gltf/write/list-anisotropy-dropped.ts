import type { PlannedResult } from '../../core/delivery/mapping-plan.ts';
import { type Finding, makeFinding } from '../../core/product/finding.ts';
import type { KitItem } from '../materials/finish-material.ts';
import { findTangentFrame } from '../materials/tangent-frame.ts';

type FinishResult = Extract<PlannedResult, { kind: 'finish' }>;

/**
 * One finding per slot for brushed finishes that lie there without their direction, for want of a tangent space.
 * @param items what was made of each of the results, in the same order
 */
export function listAnisotropyDropped(
  results: readonly Pick<FinishResult, 'slot'>[],
  items: readonly KitItem[],
): Finding[] {
  const bySlot = new Map<string, Set<string>>();
  results.forEach(({ slot: { slot } }, index) => {
    const item = items[index]!;
    if (!item.finish.anisotropy || item.finish.anisotropy.strength === 0 || findTangentFrame(item)) return;
    bySlot.set(slot, (bySlot.get(slot) ?? new Set()).add(item.finish.finish));
  });
  return [...bySlot].map(([slot, finishes]) =>
    makeFinding('anisotropy-dropped', {
      where: `slot ${slot}`,
      message: `The highlight of ${finishes.size === 1 ? 'a finish' : `${finishes.size} finishes`} on “${slot}” is not drawn out along the brushing: its direction needs tangents or a normal map, and the parts have neither. Export them with tangents, or give the finish a normal map of its brushing.`,
      seen: [...finishes],
      expected: 'tangents, or a normal map',
    }),
  );
}
