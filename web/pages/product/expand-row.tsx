import { useSignal } from '@preact/signals';
import { makePattern } from '../../../server/core/schedule/name-rows.ts';
import { VARIANT_LIMIT } from '../../../server/core/schedule/schedule.ts';
import { formatNumber } from '../../format.ts';
import { Field } from '../../parts/field.tsx';
import { countExpansion } from './choices/count-expansion.ts';
import { sayCount } from './choices/say-count.ts';
import type { ProductModel } from './product-model.ts';

/** Expanding the options into rows: which slots vary, what the rows are called, and how many that makes. */
export function ExpandRow({ model, onClose }: { readonly model: ProductModel; readonly onClose: () => void }) {
  const { schedule } = model;
  const columns = model.columns.value;
  const left = useSignal<ReadonlySet<string>>(new Set());
  const template = useSignal<string | null>(null);
  const chosen = columns.filter(({ slot }) => !left.value.has(slot));
  const usual = makePattern(chosen.map(({ slot }) => slot));
  const { rows, defaultKey } = schedule.draft.value;
  const byDefault = rows.find(({ key }) => key === defaultKey)?.choices ?? {};
  const counted = countExpansion(model.choices.scope.value, new Set(chosen.map(({ slot }) => slot)), byDefault);
  const least = counted.exact ? counted.count : counted.lower;
  const over = least > BigInt(VARIANT_LIMIT);
  const none = counted.exact && counted.count === 0n;
  const unsaved = schedule.changes.value.any;
  return (
    <form
      class="adding arrives no-print"
      onSubmit={async (event) => {
        event.preventDefault();
        await schedule.expand(
          template.value ?? usual,
          chosen.map(({ slot }) => slot),
        );
        if (schedule.trouble.value === null) onClose();
      }}
    >
      <h3>Expand from the options</h3>
      <div class="form">
        <fieldset class="whole">
          <legend>Slots that vary; the others take what the default variant has</legend>
          {columns.map(({ slot, label, allowed }) => (
            <label class="tick spaced" key={slot}>
              <input
                type="checkbox"
                checked={!left.value.has(slot)}
                onChange={() => {
                  const next = new Set(left.value);
                  if (!next.delete(slot)) next.add(slot);
                  left.value = next;
                }}
              />
              {label} <small class="soft">{allowed.length}</small>
            </label>
          ))}
        </fieldset>
        <div class="whole measure">
          <Field name="Name of the variants; a slot in braces stands for its finish">
            <input
              value={template.value ?? usual}
              onInput={(event) => {
                template.value = event.currentTarget.value;
              }}
            />
          </Field>
        </div>
      </div>
      <p class="measure" role="status">
        {none
          ? 'Nothing to combine: no slot is ticked, one has no options, or the rules leave none.'
          : `Options and rules allow ${sayCount(counted)}; those that stand already are left as they are.`}
        {over && ` The limit is ${formatNumber(VARIANT_LIMIT)}: narrow the options, or leave slots out.`}
        {unsaved && ' Save the schedule first, since rows are added to what is saved.'}
      </p>
      <div class="actions">
        <button type="submit" class="main" disabled={none || over || unsaved || schedule.busy.value}>
          {counted.exact && !none && !over ? `Add up to ${formatNumber(counted.count)} rows` : 'Add the rows'}
        </button>
        <button type="button" onClick={onClose}>
          Close
        </button>
      </div>
    </form>
  );
}
