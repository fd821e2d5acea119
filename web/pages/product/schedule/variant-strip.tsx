import { useSignal } from '@preact/signals';
import { seg } from '../../../api.ts';
import { Picture } from '../../../parts/picture.tsx';
import { commonTexts } from '../../../texts/common.ts';
import { scheduleTexts } from '../../../texts/product-schedule.ts';
import type { ProductModel } from '../product-model.ts';

/** Pictures shown at first, and with each further step. */
const STEP = 48;

/** Pictures of the saved variants. Clicking one shows it in the preview. */
export function VariantStrip({ model }: { readonly model: ProductModel }) {
  const shown = useSignal(STEP);
  const { schedule } = model;
  const { rows } = schedule.saved.value;
  if (rows.length === 0) return null;
  const selected = schedule.selectedRow.value?.key;
  return (
    <section aria-label={scheduleTexts.variantPictures}>
      <ul class="strip">
        {rows.slice(0, shown.value).map((row) => (
          <li key={row.key}>
            <button
              type="button"
              aria-pressed={row.key === selected}
              onClick={() => {
                schedule.selected.value = row.key;
              }}
            >
              <Picture
                address={`${model.path}/pictures/${seg(row.code)}.webp?size=256`}
                alt=""
                version={model.version.value}
              />
              <span class="small">{row.name}</span>
            </button>
          </li>
        ))}
      </ul>
      {rows.length > shown.value && (
        <button
          type="button"
          class="no-print"
          onClick={() => {
            shown.value += STEP;
          }}
        >
          {commonTexts.showMoreOf(rows.length - shown.value, 'variant')}
        </button>
      )}
    </section>
  );
}
