import type { ProductModel } from '../product-model.ts';
import { ScheduleSection, VariantStrip } from '../schedule/schedule-section.tsx';

/** The sheet of the schedule: the grid, and below it the pictures of its variants. */
export function ScheduleSheet({ model }: { readonly model: ProductModel }) {
  return (
    <>
      <ScheduleSection model={model} />
      <VariantStrip model={model} />
    </>
  );
}
