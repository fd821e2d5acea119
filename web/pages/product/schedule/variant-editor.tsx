import { Field } from '../../../parts/form.tsx';
import { commonTexts } from '../../../texts/common.ts';
import { scheduleTexts as texts } from '../../../texts/product-schedule.ts';
import { LivePreview } from '../figure/live-preview.tsx';
import type { ProductModel } from '../product-model.ts';
import { FinishPicker } from './finish-picker.tsx';
import { duplicateRow, moveRow, type Row, removeRow, setChoice, setDefault, setGtin } from './schedule-edit.ts';

interface VariantEditorProps {
  readonly model: ProductModel;
  readonly row: Row;
  readonly at: number;
  /** The slot to choose a finish for; null edits the variant itself. */
  readonly slot: string | null;
}

/** Opens below a variant: a live preview, and beside it the finishes of a slot or the actions on the variant. */
export function VariantEditor({ model, row, at, slot }: VariantEditorProps) {
  const { schedule } = model;
  const column = model.columns.value.find((candidate) => candidate.slot === slot);
  const close = () => {
    const id = slot === null ? `row-${row.key}` : `cell-${row.key}-${slot}`;
    schedule.open.value = null;
    document.getElementById(id)?.focus();
  };
  return (
    <tr class="opened no-print">
      <td colSpan={3 + model.columns.value.length}>
        {/* biome-ignore lint/a11y/noStaticElementInteractions: Escape closes the editor wherever the focus is in it */}
        <div
          class="opened-row"
          onKeyDown={(event) => {
            if (event.key === 'Escape') close();
          }}
        >
          <LivePreview model={model} row={row} alt={texts.variantAlt(row.name)} />
          {column ? (
            <FinishPicker
              model={model}
              slot={column}
              chosen={row.choices[column.slot] ?? null}
              forbidden={model.choices.guide.value.listForbidden(row.choices, column.slot)}
              none={model.choices.guide.value.explainNoneLeft(row.choices, column.slot)}
              variant={row.name}
              onPick={(finish) => schedule.edit((draft) => setChoice(draft, row.key, column.slot, finish))}
              onClose={close}
            />
          ) : (
            <VariantActions model={model} row={row} at={at} onClose={close} />
          )}
        </div>
      </td>
    </tr>
  );
}

function VariantActions({
  model,
  row,
  at,
  onClose,
}: Omit<VariantEditorProps, 'slot'> & { readonly onClose: () => void }) {
  const { schedule } = model;
  const { rows, defaultKey } = schedule.draft.value;
  const copy = () => {
    schedule.edit((draft) => duplicateRow(draft, row.key));
    const next = schedule.draft.value.rows[at + 1];
    if (!next) return;
    schedule.selected.value = next.key;
    schedule.open.value = { key: next.key, slot: null };
  };
  const remove = () => {
    schedule.edit((draft) => removeRow(draft, row.key));
    schedule.open.value = null;
    // focus the row that is now in the same place
    const { rows: left } = schedule.draft.value;
    const next = left[Math.min(at, left.length - 1)];
    requestAnimationFrame(() => document.getElementById(`row-${next?.key}`)?.focus());
  };
  return (
    <div class="row-actions">
      <p class="strong">
        {row.name} <span class="code soft">{row.code}</span>
      </p>
      <Field inline name={texts.gtinField}>
        <input
          type="text"
          inputMode="numeric"
          size={16}
          spellcheck={false}
          value={row.gtin ?? ''}
          onInput={(event) => {
            const gtin = event.currentTarget.value;
            schedule.edit((draft) => setGtin(draft, row.key, gtin));
          }}
        />
      </Field>
      <ul>
        <li>
          <button
            type="button"
            disabled={defaultKey === row.key}
            onClick={() => schedule.edit((draft) => setDefault(draft, row.key))}
          >
            {texts.makeDefault}
          </button>
        </li>
        <li>
          <button type="button" onClick={copy}>
            {texts.duplicate}
          </button>
        </li>
        <li>
          <button
            type="button"
            disabled={at === 0}
            onClick={() => schedule.edit((draft) => moveRow(draft, row.key, -1))}
          >
            {commonTexts.moveUp}
          </button>
        </li>
        <li>
          <button
            type="button"
            disabled={at === rows.length - 1}
            onClick={() => schedule.edit((draft) => moveRow(draft, row.key, 1))}
          >
            {commonTexts.moveDown}
          </button>
        </li>
        <li>
          <button type="button" onClick={remove}>
            {texts.remove}
          </button>
        </li>
        <li>
          <button type="button" onClick={onClose}>
            {commonTexts.close}
          </button>
        </li>
      </ul>
    </div>
  );
}
