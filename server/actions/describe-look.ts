import { type ApprovedLook, describeFinishLook, describeKeep, type WornLook } from '../core/approval/look.ts';
import { canonical } from '../core/canonical.ts';
import type { Family } from '../core/finish/finish.ts';
import type { ResolvedFinish } from '../core/finish/resolve-finish.ts';
import { directionOf, type Slot } from '../core/product/slot.ts';
import type { Variant } from '../core/schedule/schedule.ts';
import { digestBytes } from './digest.ts';
import type { LoadedProduct } from './load-product.ts';

/** A finish as it looks now. */
export function describeLookOfFinish(resolved: ResolvedFinish): ApprovedLook {
  return { worn: [{ finish: resolved.finish, look: digestBytes(describeFinishLook(resolved)) }] };
}

/** A variant as it looks now: the finish in each of its slots, how it lies there, the model and its mount. */
export function describeLookOfVariant(loaded: LoadedProduct, { choices }: Variant): ApprovedLook {
  const { model, product, finishes } = loaded;
  const slots = new Map(loaded.slots.map((slot) => [slot.slot, slot]));
  return {
    model: model && { revision: model.revision, sha256: model.sha256 },
    mount: product.mount,
    worn: Object.entries(choices).flatMap(([key, code]): WornLook[] => {
      const slot = slots.get(key);
      if (!slot) return [];
      const resolved = finishes.resolve(code);
      return [
        {
          finish: resolved.finish,
          look: digestBytes(describeFinishLook(resolved)),
          on: describeSlot(slot, resolved.family),
        },
      ];
    }),
  };
}

function describeSlot(slot: Slot, family: Family): WornLook['on'] {
  const { slot: key, label, fixed, primitives } = slot;
  const grainDegrees = directionOf(slot, family);
  const covers = digestBytes(canonical(primitives));
  return { slot: key, label, fixed, grainDegrees, keeps: digestBytes(describeKeep(slot)), covers };
}
