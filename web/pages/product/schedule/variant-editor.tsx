import { useEffect, useRef } from 'preact/hooks';
import type { FinishAnswer } from '../../../../server/http/contracts/finish.ts';
import type { SlotAnswer } from '../../../../server/http/contracts/product.ts';
import { formatKey } from '../../../format.ts';
import { Field } from '../../../parts/form.tsx';
import { Chip } from '../../../parts/picture.tsx';
import { commonTexts } from '../../../texts/common.ts';
import { scheduleTexts as texts } from '../../../texts/product-schedule.ts';
import { LivePreview } from '../figure/product-figure.tsx';
import type { ProductModel } from '../product-model.ts';
import { duplicateRow, moveRow, type Row, removeRow, setChoice, setDefault, setGtin } from './schedule-draft.ts';

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

interface FinishPickerProps {
  readonly model: ProductModel;
  readonly slot: SlotAnswer;
  readonly chosen: string | null;
  /** For each finish that the other choices of the row exclude: the reason, by code. */
  readonly forbidden: ReadonlyMap<string, string>;
  /** Why the other choices exclude all finishes; null if one is possible. */
  readonly none: string | null;
  /** Name of the variant. */
  readonly variant: string;
  readonly onPick: (finish: string | null) => void;
  readonly onClose: () => void;
}

/**
 * The finishes of a slot as a group of radio buttons: the arrow keys move through them, and the preview follows. A finish
 * that a rule excludes can still be picked, with the reason beside it, since the other choices may change next.
 */
function FinishPicker({ model, slot, chosen, forbidden, none, variant, onPick, onClose }: FinishPickerProps) {
  const place = useRef<HTMLFieldSetElement>(null);
  useEffect(() => {
    const fields = [...(place.current?.querySelectorAll('input') ?? [])];
    (fields.find((field) => field.checked) ?? fields[0])?.focus({ preventScroll: true });
  }, [slot.slot]);
  const groups = groupAllowed(slot.allowed, model.getFinish);
  const outside = chosen !== null && !slot.allowed.some(({ finish }) => finish === chosen);
  return (
    <fieldset class="picker" ref={place}>
      <legend>
        <span class="strong">{slot.label}</span>
        {texts.ofVariant(variant)}
      </legend>
      {outside && <p class="measure">{texts.notAnOption(chosen)}</p>}
      {groups.length === 0 && <p class="measure">{texts.noOptions(slot.label)}</p>}
      {none && <p class="measure">{none}</p>}
      {groups.map(({ title, items }) => (
        <div class="picker-group" key={title}>
          <p class="small soft">{title}</p>
          <div class="finish-ticks">
            {items.map(({ finish, status }) => (
              <label class="tick" key={finish.finish}>
                <input
                  type="radio"
                  name="finish"
                  checked={finish.finish === chosen}
                  onChange={() => onPick(finish.finish)}
                />
                <span>
                  <Chip hex={finish.resolved.hex} /> {finish.name} <small class="soft code">{finish.finish}</small>
                  {status && <small> {status}</small>}
                  {forbidden.has(finish.finish) && <small class="against">{forbidden.get(finish.finish)}</small>}
                </span>
              </label>
            ))}
          </div>
        </div>
      ))}
      <div class="picker-group">
        <label class="tick">
          <input type="radio" name="finish" checked={chosen === null} onChange={() => onPick(null)} />
          <span>
            <Chip hex={null} /> {texts.keepOriginal}
          </span>
        </label>
      </div>
      <button type="button" onClick={onClose}>
        {commonTexts.close}
      </button>
    </fieldset>
  );
}

interface AllowedFinish {
  readonly finish: FinishAnswer;
  /** Shown beside the name; null for a finish on sale. */
  readonly status: string | null;
}

interface AllowedGroup {
  readonly title: string;
  readonly items: readonly AllowedFinish[];
}

/** The allowed finishes by family and grade, in the order of the range. */
function groupAllowed(
  allowed: SlotAnswer['allowed'],
  getFinish: (code: string) => FinishAnswer | null,
): AllowedGroup[] {
  const groups = new Map<string, AllowedFinish[]>();
  for (const { finish: code, grade, status } of allowed) {
    const finish = getFinish(code);
    if (!finish) continue;
    const title = texts.family(formatKey(finish.family), grade);
    const items = groups.get(title) ?? [];
    groups.set(title, items);
    items.push({ finish, status: status === 'current' ? null : formatKey(status).toLowerCase() });
  }
  return [...groups].map(([title, items]) => ({ title, items }));
}
