import { readNormalKeep } from '../../../../server/core/product/slot.ts';
import type { SlotAnswer } from '../../../../server/http/contracts/product.ts';
import { productTexts } from '../../../texts/product.ts';

const texts = productTexts.slots;

/** The maps of a part that a finish can leave standing, apart from its normal map. */
export const KEEPS = ['occlusion', 'alpha', 'detail', 'wear'] as const;

type Part = Pick<SlotAnswer, 'keep' | 'fixed' | 'directions' | 'grainDegrees'>;

/** In one sentence: whether seams and weave show, which maps of the part are dropped, and the direction. */
export function describePart({ keep, fixed, directions, grainDegrees }: Part): string {
  if (fixed) return texts.keepsAll;
  const dropped = KEEPS.filter((key) => keep[key] === false).map((key) => texts.keeps[key].label);
  const followed = describeDirections({ directions });
  const direction = followed ?? (grainDegrees === 0 ? null : texts.direction(grainDegrees));
  return [
    texts.normalSentences[readNormalKeep(keep.normal)],
    ...(dropped.length > 0 ? [texts.dropped(dropped)] : []),
    ...(direction === null ? [] : [direction]),
  ].join('; ');
}

/** The directions that follow from the part, in words. Null where an angle was set, or the part suggests none. */
export function describeDirections({ directions }: Pick<SlotAnswer, 'directions'>): string | null {
  const { wood, textile } = directions ?? {};
  const parts = [
    ...(wood === undefined ? [] : [productTexts.direction.grain(wood)]),
    ...(textile === undefined ? [] : [productTexts.direction.warp(textile)]),
  ];
  return parts.length === 0 ? null : parts.join('; ');
}
