import { PiecesSection } from '../pieces/pieces-section.tsx';
import type { ProductModel } from '../product-model.ts';
import { SlotTable } from '../slots/slot-table.tsx';

/** The sheet of the parts: the list of slots, and the pieces that are picked in the view. */
export function PartsSheet({ model }: { readonly model: ProductModel }) {
  return (
    <>
      <SlotTable model={model} />
      <PiecesSection model={model} />
    </>
  );
}
