import type { LoadedProduct } from '../actions/loaded-product.ts';
import { listOptions, listRange } from '../core/line/options.ts';
import { proposeGrain } from '../core/product/grain-direction.ts';
import { KEEP_ALL, type Slot } from '../core/product/slot.ts';
import { fillSlotDefault } from '../core/product/slot-defaults.ts';
import type { SlotAnswer } from './contracts/slot.ts';

/** A slot with the names of its materials and the finishes that its options allow. */
export function toSlotAnswer(loaded: LoadedProduct, given: Slot): SlotAnswer {
  const slot = fillSlotDefault(given, loaded.model?.survey ?? null);
  const allowed = listOptions(slot, loaded.line, listRange(loaded.line, loaded.finishes.byCode));
  const facts = loaded.model?.survey.materials[slot.materials[0] ?? -1]?.grain ?? null;
  return {
    slot: slot.slot,
    label: slot.label,
    position: slot.position,
    materials: slot.materials.map((index) =>
      index === null ? '' : (loaded.model?.survey.materials[index]?.name ?? ''),
    ),
    primitives: slot.primitives.length,
    triangles: slot.triangles,
    options: slot.options,
    allowed: allowed.map(({ finish, grade, status }) => ({
      finish: finish.finish,
      grade,
      status,
    })),
    fixed: slot.fixed,
    keep: { ...KEEP_ALL, ...slot.keep },
    grainDegrees: slot.grainDegrees,
    directions: slot.directions ?? null,
    normalFrom: !slot.said || slot.said.includes('normal') ? 'person' : 'model',
    proposedGrain: proposeGrain(
      facts,
      allowed.map(({ finish }) => finish.family),
    ),
    grainMark: facts?.mark ?? null,
  };
}
