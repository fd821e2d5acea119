import { useSignal } from '@preact/signals';
import { makePattern } from '../../../../server/core/schedule/name-rows.ts';
import { Field } from '../../../parts/field.tsx';
import { Notice } from '../../../parts/notice.tsx';
import type { ProductModel } from '../product-model.ts';

/** Renames the variants that are named after a finish they do not have, by a template a person can change. */
export function RenameMisnamed({ model }: { readonly model: ProductModel }) {
  const { schedule } = model;
  const template = useSignal<string | null>(null);
  const name = template.value ?? makePattern(model.columns.value.map(({ slot }) => slot));
  const unsaved = schedule.changes.value.any;
  return (
    <div class="under no-print measure">
      <Field name="Template; a slot in braces stands for its finish">
        <input
          value={name}
          onInput={(event) => {
            template.value = event.currentTarget.value;
          }}
        />
      </Field>
      {unsaved && <Notice text="Save the schedule first." />}
      <button
        type="button"
        disabled={unsaved || schedule.busy.value || name.trim() === ''}
        onClick={() => void schedule.renameMisnamed(name)}
      >
        Rename by the template
      </button>
    </div>
  );
}
