import { useSignal } from '@preact/signals';
import type { Objection } from '../../../../server/core/schedule/guide-choices.ts';
import { Chip } from '../../../parts/picture.tsx';
import { commonTexts } from '../../../texts/common.ts';
import { scheduleTexts as texts } from '../../../texts/product-schedule.ts';
import type { ProductModel } from '../product-model.ts';
import { type Row, setChoice, setCode, setName } from './schedule-draft.ts';
import { VariantEditor } from './variant-editor.tsx';

/** Rows shown at first, and with each further step: ten thousand would make typing slow. */
const STEP = 200;

/** The variants: one row for each, one column per slot, edited in place. */
export function ScheduleTable({ model }: { readonly model: ProductModel }) {
  const shown = useSignal(STEP);
  const { rows } = model.schedule.draft.value;
  const columns = model.columns.value;
  return (
    <>
      <div class="scroll">
        <table class="schedule">
          <thead>
            <tr>
              <th scope="col">{texts.columns.number}</th>
              <th scope="col">{texts.columns.code}</th>
              <th scope="col">{texts.columns.name}</th>
              {columns.map((slot) => (
                <th scope="col" key={slot.slot}>
                  {slot.label}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {rows.slice(0, shown.value).map((row, at) => (
              <ScheduleRow key={row.key} model={model} row={row} at={at} />
            ))}
          </tbody>
        </table>
      </div>
      {rows.length > shown.value && (
        <button
          type="button"
          onClick={() => {
            shown.value += STEP;
          }}
        >
          {commonTexts.showMoreOf(rows.length - shown.value, 'variant')}
        </button>
      )}
    </>
  );
}

interface ScheduleRowProps {
  readonly model: ProductModel;
  readonly row: Row;
  /** From 0. */
  readonly at: number;
}

/** A variant: its code, its name and a finish for each slot. */
function ScheduleRow({ model, row, at }: ScheduleRowProps) {
  const { schedule } = model;
  const open = schedule.open.value?.key === row.key ? schedule.open.value : null;
  const state = schedule.changes.value.rows.get(row.key) ?? 'saved';
  const problem = schedule.rowProblems.value.get(row.key);
  const selected = schedule.selectedRow.value?.key === row.key;
  const isDefault = schedule.draft.value.defaultKey === row.key;
  const objections = model.choices.explainRow(row.choices);
  const invalidSlots = new Set(objections.flatMap(({ slots }) => slots));
  const toggle = (slot: string | null) => {
    schedule.selected.value = row.key;
    schedule.open.value = open && open.slot === slot ? null : { key: row.key, slot };
  };
  return (
    <>
      {/* the button in the first cell does the same from the keyboard */}
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
            aria-label={texts.rowButton(at + 1, row.name, selected, texts.states[state])}
            onClick={() => toggle(null)}
          >
            {at + 1}
          </button>
          {state !== 'saved' && <small>{texts.states[state]}</small>}
        </td>
        <th scope="row">
          <input
            type="text"
            class="code"
            size={10}
            aria-label={texts.codeOf(at + 1)}
            aria-invalid={problem ? 'true' : undefined}
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
            aria-label={texts.nameOf(at + 1)}
            aria-invalid={problem ? 'true' : undefined}
            value={row.name}
            onInput={(event) => {
              const name = event.currentTarget.value;
              schedule.edit((draft) => setName(draft, row.key, name));
            }}
          />
          {isDefault && <small class="soft">{texts.isDefault}</small>}
          {row.gtin && <small class="soft">{texts.gtin(row.gtin)}</small>}
          {problem && <small role="alert">{problem}</small>}
        </td>
        {model.columns.value.map((slot) => {
          const finish = model.getFinish(row.choices[slot.slot]);
          const name = finish?.name ?? row.choices[slot.slot] ?? texts.noFinish;
          return (
            <td key={slot.slot}>
              <button
                type="button"
                class={invalidSlots.has(slot.slot) ? 'cell against' : 'cell'}
                id={`cell-${row.key}-${slot.slot}`}
                aria-expanded={open?.slot === slot.slot}
                aria-label={texts.cell(slot.label, row.name, name, invalidSlots.has(slot.slot))}
                onClick={() => toggle(slot.slot)}
              >
                <Chip hex={finish?.resolved.hex} />
                <span class={finish ? undefined : 'soft'}>{name}</span>
              </button>
            </td>
          );
        })}
      </tr>
      {objections.length > 0 && <ObjectionRow model={model} row={row} objections={objections} />}
      {open && <VariantEditor model={model} row={row} at={at} slot={open.slot} />}
    </>
  );
}

interface ObjectionRowProps {
  readonly model: ProductModel;
  readonly row: Row;
  readonly objections: readonly Objection[];
}

/** Why a variant is not allowed, with a button where a rule says what to change. */
function ObjectionRow({ model, row, objections }: ObjectionRowProps) {
  const label = (key: string) => model.columns.value.find(({ slot }) => slot === key)?.label ?? key;
  return (
    <tr class="objections">
      <td />
      <td colSpan={2 + model.columns.value.length}>
        <ul>
          {objections.map(({ message, follow }) => (
            <li key={message}>
              <span class="measure">{message}</span>{' '}
              {follow && (
                <button
                  type="button"
                  class="no-print"
                  onClick={() => model.schedule.edit((draft) => setChoice(draft, row.key, follow.slot, follow.finish))}
                >
                  {texts.follow(follow.finish, label(follow.slot))}
                </button>
              )}
            </li>
          ))}
        </ul>
      </td>
    </tr>
  );
}
