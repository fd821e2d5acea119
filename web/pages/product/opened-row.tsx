import { Field } from '../../parts/field.tsx';
import { Picture } from '../../parts/picture.tsx';
import { FinishPicker } from './finish-picker.tsx';
import { LivePlace } from './live-place.tsx';
import type { ProductModel } from './product-model.ts';
import { duplicateRow, moveRow, type Row, removeRow, setChoice, setDefault, setGtin } from './schedule-edit.ts';
import { addressStill } from './still-address.ts';

interface OpenedRowProps {
  readonly model: ProductModel;
  readonly row: Row;
  readonly at: number;
  /** The slot a finish is chosen for; null when the variant itself is open. */
  readonly slot: string | null;
}

/** What opens under a variant: the product in it, live, and beside it what can be chosen or done. */
export function OpenedRow({ model, row, at, slot }: OpenedRowProps) {
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
        {/* biome-ignore lint/a11y/noStaticElementInteractions: Escape closes the row wherever the focus is in it */}
        <div
          class="opened-row"
          onKeyDown={(event) => {
            if (event.key === 'Escape') close();
          }}
        >
          <LivePlace preview={model.preview}>
            <Picture address={addressStill(model, row)} alt={`In ${row.name}`} version={model.version.value} />
          </LivePlace>
          {column ? (
            <FinishPicker
              model={model}
              slot={column}
              chosen={row.choices[column.slot] ?? null}
              forbidden={model.choices.guide.value.listForbidden(row.choices, column.slot)}
              none={model.choices.guide.value.explainNoneLeft(row.choices, column.slot)}
              of={row.name}
              onPick={(finish) => schedule.edit((draft) => setChoice(draft, row.key, column.slot, finish))}
              onClose={close}
            />
          ) : (
            <RowActions model={model} row={row} at={at} onClose={close} />
          )}
        </div>
      </td>
    </tr>
  );
}

function RowActions({ model, row, at, onClose }: Omit<OpenedRowProps, 'slot'> & { readonly onClose: () => void }) {
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
    // the focus goes to the row that came into its place
    const { rows: left } = schedule.draft.value;
    const next = left[Math.min(at, left.length - 1)];
    requestAnimationFrame(() => document.getElementById(`row-${next?.key}`)?.focus());
  };
  return (
    <div class="row-actions">
      <p class="strong">
        {row.name} <span class="code soft">{row.code}</span>
      </p>
      <Field inline name="GTIN, if it is sold under one">
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
            Make it the default
          </button>
        </li>
        <li>
          <button type="button" onClick={copy}>
            Duplicate the row
          </button>
        </li>
        <li>
          <button
            type="button"
            disabled={at === 0}
            onClick={() => schedule.edit((draft) => moveRow(draft, row.key, -1))}
          >
            Move up
          </button>
        </li>
        <li>
          <button
            type="button"
            disabled={at === rows.length - 1}
            onClick={() => schedule.edit((draft) => moveRow(draft, row.key, 1))}
          >
            Move down
          </button>
        </li>
        <li>
          <button type="button" onClick={remove}>
            Remove the row
          </button>
        </li>
        <li>
          <button type="button" onClick={onClose}>
            Close
          </button>
        </li>
      </ul>
    </div>
  );
}
