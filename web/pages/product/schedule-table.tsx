import { useSignal } from '@preact/signals';
import { count } from '../../format.ts';
import type { ProductModel } from './product-model.ts';
import { ScheduleRow } from './schedule-row.tsx';

/** Rows shown at first and with every step: ten thousand would make the page slow to write on. */
const STEP = 200;

export function ScheduleTable({ model }: { readonly model: ProductModel }) {
  const shown = useSignal(STEP);
  const { rows } = model.schedule.draft.value;
  const columns = model.columns.value;
  return (
    <>
      <div class="scroll">
        <table class="schedule">
          <thead>
            <tr>
              <th scope="col">No.</th>
              <th scope="col">Code</th>
              <th scope="col">Name in the delivered file</th>
              {columns.map((slot) => (
                <th scope="col" key={slot.slot}>
                  {slot.label}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {rows.slice(0, shown.value).map((row, at) => (
              <ScheduleRow key={row.key} model={model} row={row} at={at} />
            ))}
          </tbody>
        </table>
      </div>
      {rows.length > shown.value && (
        <button
          type="button"
          onClick={() => {
            shown.value += STEP;
          }}
        >
          Show more; {count(rows.length - shown.value, 'row')} follow
        </button>
      )}
    </>
  );
}
