import type { ProductAnswer, SlotAnswer } from '../../../../server/http/contracts/product.ts';
import { benchTexts } from '../../../texts/product-bench.ts';

/** The fields of a product that its page can change. */
export type ProductChange = Partial<Pick<ProductAnswer, 'name' | 'line' | 'class' | 'mount' | 'sheet' | 'budget'>>;

/** The fields of a slot that its page can change. */
export type SlotChange = Partial<Pick<SlotAnswer, 'label' | 'position' | 'options' | 'fixed'>> & {
  /** Degrees; null follows the part. */
  readonly grainDegrees?: number | null;
  readonly keep?: Partial<SlotAnswer['keep']>;
};

const texts = benchTexts.steps;

/** The values that a change of a product replaces, as the change that brings them back. */
export function revertProduct(product: ProductAnswer, change: ProductChange): ProductChange {
  return Object.fromEntries(listKeys(change).map((key) => [key, product[key]]));
}

/** The values that a change of a slot replaces, as the change that brings them back. */
export function revertSlot(slot: SlotAnswer, change: SlotChange): SlotChange {
  return Object.fromEntries(
    listKeys(change).map((key) => {
      if (key === 'keep') return [key, revertKeep(slot, change.keep ?? {})];
      // a direction that follows the part has no angle of its own
      if (key === 'grainDegrees') return [key, slot.directions === null ? slot.grainDegrees : null];
      return [key, slot[key]];
    }),
  );
}

function revertKeep({ keep }: SlotAnswer, change: Partial<SlotAnswer['keep']>): Partial<SlotAnswer['keep']> {
  return Object.fromEntries(listKeys(change).map((key) => [key, keep[key]]));
}

export function labelProductChange(change: ProductChange): string {
  return listKeys(change)
    .map((key) => texts.product[key])
    .join(', ');
}

export function labelSlotChange(slot: SlotAnswer, change: SlotChange): string {
  return listKeys(change)
    .map((key) => texts.slot[key](slot.label))
    .join(', ');
}

const listKeys = <T extends object>(change: T) => Object.keys(change) as (keyof T & string)[];
