import { Chip } from '../../parts/chip.tsx';
import { ObjectionRow } from './choices/objection-row.tsx';
import { OpenedRow } from './opened-row.tsx';
import type { ProductModel } from './product-model.ts';
import { type Row, setCode, setName } from './schedule-edit.ts';

interface ScheduleRowProps {
  readonly model: ProductModel;
  readonly row: Row;
  /** From 0. */
  readonly at: number;
}

/** A variant: its code and name to write on, and a finish in each cell. */
export function ScheduleRow({ model, row, at }: ScheduleRowProps) {
  const { schedule } = model;
  const open = schedule.open.value?.key === row.key ? schedule.open.value : null;
  const state = schedule.changes.value.rows.get(row.key) ?? 'saved';
  const trouble = schedule.rowTroubles.value.get(row.key);
  const selected = schedule.selectedRow.value?.key === row.key;
  const isDefault = schedule.draft.value.defaultKey === row.key;
  const objections = model.choices.explainRow(row.choices);
  const against = new Set(objections.flatMap(({ slots }) => slots));
  const toggle = (slot: string | null) => {
    schedule.selected.value = row.key;
    schedule.open.value = open && open.slot === slot ? null : { key: row.key, slot };
  };
  return (
    <>
      {/* the number's button does the same for the keyboard */}
      <tr
        class={selected ? 'selected' : undefined}
        onClick={(event) => {
          if (!(event.target as Element).closest('button, input')) schedule.selected.value = row.key;
        }}
      >
        <td class="number">
          <button
            type="button"
            id={`row-${row.key}`}
            aria-expanded={open !== null && open.slot === null}
            aria-label={`Row ${at + 1}, ${row.name}${selected ? ', shown' : ''}${state === 'saved' ? '' : `, ${state}`}`}
            onClick={() => toggle(null)}
          >
            {at + 1}
          </button>
          {state !== 'saved' && <small>{state}</small>}
        </td>
        <th scope="row">
          <input
            type="text"
            class="code"
            size={10}
            aria-label={`Code of row ${at + 1}`}
            aria-invalid={trouble ? 'true' : undefined}
            value={row.code}
            spellcheck={false}
            onInput={(event) => {
              const code = event.currentTarget.value;
              schedule.edit((draft) => setCode(draft, row.key, code));
            }}
          />
        </th>
        <td class="name">
          <input
            type="text"
            aria-label={`Name of row ${at + 1}`}
            aria-invalid={trouble ? 'true' : undefined}
            value={row.name}
            onInput={(event) => {
              const name = event.currentTarget.value;
              schedule.edit((draft) => setName(draft, row.key, name));
            }}
          />
          {isDefault && <small class="soft">default, shown before a choice</small>}
          {row.gtin && <small class="soft">GTIN {row.gtin}</small>}
          {trouble && <small role="alert">{trouble}</small>}
        </td>
        {model.columns.value.map((slot) => {
          const finish = model.getFinish(row.choices[slot.slot]);
          const words = finish?.name ?? row.choices[slot.slot] ?? 'no finish';
          return (
            <td key={slot.slot}>
              <button
                type="button"
                class={against.has(slot.slot) ? 'cell against' : 'cell'}
                id={`cell-${row.key}-${slot.slot}`}
                aria-expanded={open?.slot === slot.slot}
                aria-label={`${slot.label} of ${row.name}: ${words}${against.has(slot.slot) ? ', may not stand like this' : ''}. Change`}
                onClick={() => toggle(slot.slot)}
              >
                <Chip hex={finish?.resolved.hex} />
                <span class={finish ? undefined : 'soft'}>{words}</span>
              </button>
            </td>
          );
        })}
      </tr>
      {objections.length > 0 && <ObjectionRow model={model} row={row} objections={objections} />}
      {open && <OpenedRow model={model} row={row} at={at} slot={open.slot} />}
    </>
  );
}
