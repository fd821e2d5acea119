import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import { makePattern } from '../../../../server/core/schedule/name-rows.ts';
import { VARIANT_LIMIT } from '../../../../server/core/schedule/schedule.ts';
import { Field } from '../../../parts/form.tsx';
import { commonTexts } from '../../../texts/common.ts';
import { scheduleTexts as texts } from '../../../texts/product-schedule.ts';
import type { ProductModel } from '../product-model.ts';
import type { CheckSetKind } from './choices-model.ts';
import { countExpansion } from './count-expansion.ts';

/** Expands the options into variants: which slots vary, what the variants are called, and how many there will be. */
export function ExpandForm({ model, onClose }: { readonly model: ProductModel; readonly onClose: () => void }) {
  const { schedule } = model;
  const columns = model.columns.value;
  const unticked = useSignal<ReadonlySet<string>>(new Set());
  const template = useSignal<string | null>(null);
  const chosen = columns.filter(({ slot }) => !unticked.value.has(slot));
  const defaultTemplate = makePattern(chosen.map(({ slot }) => slot));
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
          template.value ?? defaultTemplate,
          chosen.map(({ slot }) => slot),
        );
        if (schedule.problem.value === null) onClose();
      }}
    >
      <h3>{texts.expand}</h3>
      <div class="form">
        <fieldset class="whole">
          <legend>{texts.slotsToVary}</legend>
          {columns.map(({ slot, label, allowed }) => (
            <label class="tick spaced" key={slot}>
              <input
                type="checkbox"
                checked={!unticked.value.has(slot)}
                onChange={() => {
                  const next = new Set(unticked.value);
                  if (!next.delete(slot)) next.add(slot);
                  unticked.value = next;
                }}
              />
              {label} <small class="soft">{allowed.length}</small>
            </label>
          ))}
        </fieldset>
        <div class="whole measure">
          <Field name={texts.nameTemplate}>
            <input
              value={template.value ?? defaultTemplate}
              onInput={(event) => {
                template.value = event.currentTarget.value;
              }}
            />
          </Field>
        </div>
      </div>
      <p class="measure" role="status">
        {none ? texts.nothingToCombine : texts.expansion(commonTexts.combinations(counted))}
        {over && texts.overLimit(VARIANT_LIMIT)}
        {unsaved && texts.saveFirst}
      </p>
      <div class="actions">
        <button type="submit" class="main" disabled={none || over || unsaved || schedule.busy.value}>
          {counted.exact && !none && !over ? texts.addUpTo(counted.count) : texts.addVariants}
        </button>
        <button type="button" onClick={onClose}>
          {commonTexts.close}
        </button>
      </div>
    </form>
  );
}

const KINDS: readonly CheckSetKind[] = ['each-finish', 'pairs'];

/** Adds a check set, after showing what it contains. */
export function CheckSetForm({ model, onClose }: { readonly model: ProductModel; readonly onClose: () => void }) {
  const { schedule, choices } = model;
  const kind = useSignal<CheckSetKind>('each-finish');
  // the plan depends on the saved schedule, and on options and rules
  useEffect(() => void choices.planCheckSet(kind.value), [kind.value, schedule.saved.value, choices.counted.value]);
  const planned = choices.preview.value?.kind === kind.value ? choices.preview.value.set : null;
  const unsaved = schedule.changes.value.any;
  return (
    <form
      class="adding arrives no-print"
      onSubmit={async (event) => {
        event.preventDefault();
        await schedule.addCheckSet(kind.value);
        if (schedule.problem.value === null) onClose();
      }}
    >
      <h3>{texts.addCheckSet}</h3>
      <p class="measure small soft">{texts.checkSetIntro}</p>
      <fieldset>
        <legend class="unseen">{texts.checkSetKind}</legend>
        {KINDS.map((value) => (
          <label class="tick spaced" key={value}>
            <input
              type="radio"
              name="check-set"
              checked={kind.value === value}
              onChange={() => {
                kind.value = value;
              }}
            />
            {texts.checkSetKinds[value]}
          </label>
        ))}
      </fieldset>
      <p class="measure" role="status">
        {choices.previewProblem.value ?? (planned ? texts.checkSet(kind.value, planned) : texts.planning)}
        {unsaved && texts.saveFirst}
      </p>
      <div class="actions">
        <button type="submit" class="main" disabled={!planned || planned.added === 0 || unsaved || schedule.busy.value}>
          {planned && planned.added > 0 ? texts.addCount(planned.added) : texts.addVariants}
        </button>
        <button type="button" onClick={onClose}>
          {commonTexts.close}
        </button>
      </div>
    </form>
  );
}
