import type { Finding } from '../../../../server/core/product/finding.ts';
import type { ChangesAnswer } from '../../../../server/http/contracts/delivery.ts';
import type { ProductAnswer, SlotAnswer } from '../../../../server/http/contracts/product.ts';
import { benchTexts as texts } from '../../../texts/product-bench.ts';

/** The state of a model: its revision, and how many findings ask for something. Notes do not. */
export function describeModel(product: Pick<ProductAnswer, 'model'> | null, findings: readonly Finding[]): string {
  if (!product?.model) return texts.noModel;
  const errors = findings.filter(({ severity }) => severity === 'error').length;
  const warnings = findings.filter(({ severity }) => severity === 'warning').length;
  const words = errors > 0 ? texts.blocking(errors) : warnings > 0 ? texts.toCheck(warnings) : texts.nothingToCheck;
  return texts.revision(product.model.revision, words);
}

/** The state of the parts: slots in the model, and how many of those that change finish have no finish to take. */
export function describeParts(slots: readonly SlotAnswer[]): string {
  const present = slots.filter(({ primitives }) => primitives > 0);
  return texts.slots(present.length, present.filter((slot) => !slot.fixed && slot.allowed.length === 0).length);
}

/**
 * @param variants rows of the schedule as it stands on the page
 * @param unsaved rows that are not saved, removed ones included
 */
export function describeSchedule(variants: number, unsaved: number): string {
  return variants === 0 && unsaved === 0 ? texts.noVariants : texts.variants(variants, unsaved);
}

/**
 * The state of the deliveries.
 * @param latest number of the newest, or null without one
 * @param pending what differs since then; null while it is not known
 */
export function describeDelivery(
  latest: number | null,
  pending: Pick<ChangesAnswer, 'since' | 'outdated' | 'variants'> | null,
): string {
  if (latest === null) return texts.noDelivery;
  if (pending?.since !== latest) return texts.delivery(latest);
  return pending.outdated ? texts.outdated(latest, pending.variants) : texts.upToDate(latest);
}
