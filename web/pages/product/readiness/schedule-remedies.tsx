import { useSignal } from '@preact/signals';
import { makePattern } from '../../../../server/core/schedule/name-rows.ts';
import { Field, Notice } from '../../../parts/form.tsx';
import { commonTexts } from '../../../texts/common.ts';
import { readinessTexts as texts } from '../../../texts/product-readiness.ts';
import type { ProductModel } from '../product-model.ts';

/** Imports the variants in the model as finishes and a schedule. It asks before it replaces a schedule. */
export function ImportVariants({ model }: { readonly model: ProductModel }) {
  const asking = useSignal(false);
  const { repairs, schedule } = model;
  const rows = schedule.saved.value.rows.length;
  const busy = repairs.work.value !== null;
  const importVariants = async (replace: boolean) => {
    await repairs.importVariants(replace);
    asking.value = false;
  };
  const imported = repairs.imported.value;
  const trouble = repairs.trouble.value;
  return (
    <div class="under no-print">
      <p role="status">{imported && texts.imported(imported.variants.length, imported.finishes.length)}</p>
      <Notice text={trouble?.work === 'variants' ? trouble.text : null} />
      {asking.value ? (
        <div class="actions">
          <p>{texts.replaceQuestion(rows)}</p>
          <button type="button" disabled={busy} onClick={() => void importVariants(true)}>
            {texts.replaceSchedule}
          </button>
          <button
            type="button"
            disabled={busy}
            onClick={() => {
              asking.value = false;
            }}
          >
            {commonTexts.cancel}
          </button>
        </div>
      ) : (
        <button
          type="button"
          disabled={busy}
          onClick={() => {
            if (rows > 0) asking.value = true;
            else void importVariants(false);
          }}
        >
          {repairs.work.value === 'variants' ? texts.importing : texts.importVariants}
        </button>
      )}
    </div>
  );
}

/** Renames the variants whose names mention a finish they do not have, by a template. */
export function RenameVariants({ model }: { readonly model: ProductModel }) {
  const { schedule } = model;
  const template = useSignal<string | null>(null);
  const name = template.value ?? makePattern(model.columns.value.map(({ slot }) => slot));
  const unsaved = schedule.changes.value.any;
  return (
    <div class="under no-print measure">
      <Field name={texts.template}>
        <input
          value={name}
          onInput={(event) => {
            template.value = event.currentTarget.value;
          }}
        />
      </Field>
      {unsaved && <Notice text={texts.saveFirst} />}
      <button
        type="button"
        disabled={unsaved || schedule.busy.value || name.trim() === ''}
        onClick={() => void schedule.renameMisnamed(name)}
      >
        {texts.renameVariants}
      </button>
    </div>
  );
}
