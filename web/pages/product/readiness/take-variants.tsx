import { useSignal } from '@preact/signals';
import { count } from '../../../format.ts';
import { Notice } from '../../../parts/notice.tsx';
import type { ProductModel } from '../product-model.ts';

/** The variants a model came with, to be kept as finishes and a schedule; asks before a schedule is replaced. */
export function TakeVariants({ model }: { readonly model: ProductModel }) {
  const asking = useSignal(false);
  const { repairs, schedule } = model;
  const rows = schedule.saved.value.rows.length;
  const busy = repairs.work.value !== null;
  const take = async (replace: boolean) => {
    await repairs.takeVariants(replace);
    asking.value = false;
  };
  const taken = repairs.taken.value;
  const trouble = repairs.trouble.value;
  return (
    <div class="under no-print">
      <p role="status">
        {taken &&
          `Taken in: ${count(taken.variants.length, 'variant')} of ${count(taken.finishes.length, 'finish', 'finishes')}. They stand in the schedule.`}
      </p>
      <Notice text={trouble?.work === 'variants' ? trouble.text : null} />
      {asking.value ? (
        <div class="actions">
          <p>They would take the place of the {count(rows, 'variant')} of the schedule.</p>
          <button type="button" disabled={busy} onClick={() => void take(true)}>
            Replace the schedule
          </button>
          <button
            type="button"
            disabled={busy}
            onClick={() => {
              asking.value = false;
            }}
          >
            Keep the schedule
          </button>
        </div>
      ) : (
        <button
          type="button"
          disabled={busy}
          onClick={() => {
            if (rows > 0) asking.value = true;
            else void take(false);
          }}
        >
          {repairs.work.value === 'variants'
            ? 'Taking its variants in'
            : 'Take its variants in as finishes and schedule'}
        </button>
      )}
    </div>
  );
}
