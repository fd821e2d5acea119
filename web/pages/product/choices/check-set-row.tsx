import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import { count } from '../../../format.ts';
import type { ProductModel } from '../product-model.ts';
import { type CheckSetKind, sayCheckSet } from './say-count.ts';

const KINDS: readonly (readonly [CheckSetKind, string])[] = [
  ['each-finish', 'Each finish once'],
  ['pairs', 'Every two finishes that may meet, once together'],
];

/** Adding a check set: which one, and what it will add before it does. */
export function CheckSetRow({ model, onClose }: { readonly model: ProductModel; readonly onClose: () => void }) {
  const { schedule, choices } = model;
  const kind = useSignal<CheckSetKind>('each-finish');
  // what is planned rests on what is saved, and on options and rules
  useEffect(() => void choices.planCheckSet(kind.value), [kind.value, schedule.saved.value, choices.counted.value]);
  const planned = choices.preview.value?.kind === kind.value ? choices.preview.value.set : null;
  const unsaved = schedule.changes.value.any;
  return (
    <form
      class="adding arrives no-print"
      onSubmit={async (event) => {
        event.preventDefault();
        await schedule.addCheckSet(kind.value);
        if (schedule.trouble.value === null) onClose();
      }}
    >
      <h3>Add a check set</h3>
      <p class="measure small soft">The few rows that show what matters, for looking at and signing off.</p>
      <fieldset>
        <legend class="unseen">What it shows</legend>
        {KINDS.map(([value, words]) => (
          <label class="tick spaced" key={value}>
            <input
              type="radio"
              name="check-set"
              checked={kind.value === value}
              onChange={() => {
                kind.value = value;
              }}
            />
            {words}
          </label>
        ))}
      </fieldset>
      <p class="measure" role="status">
        {choices.previewTrouble.value ?? (planned ? sayCheckSet(kind.value, planned) : 'Being planned.')}
        {unsaved && ' Save the schedule first, since rows are added to what is saved.'}
      </p>
      <div class="actions">
        <button type="submit" class="main" disabled={!planned || planned.added === 0 || unsaved || schedule.busy.value}>
          {planned && planned.added > 0 ? `Add ${count(planned.added, 'row')}` : 'Add the rows'}
        </button>
        <button type="button" onClick={onClose}>
          Close
        </button>
      </div>
    </form>
  );
}
