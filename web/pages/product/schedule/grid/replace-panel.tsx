import { useSignal } from '@preact/signals';
import { useLayoutEffect, useMemo, useRef } from 'preact/hooks';
import { Field, Select } from '../../../../parts/form.tsx';
import { commonTexts } from '../../../../texts/common.ts';
import { scheduleTexts as texts } from '../../../../texts/product-schedule.ts';
import { type Cells, countBroken, countFinishes, listUses, replaceFinish } from './edit-cells.ts';
import type { GridModel } from './grid-model.ts';
import { Panel } from './panel.tsx';

/** Changes that the preview names one by one. */
const NAMED = 12;

/** Replaces one finish by another in the selected cells or in all rows shown, after showing what changes. */
export function ReplacePanel({ grid, onClose }: { readonly grid: GridModel; readonly onClose: () => void }) {
  const place = useRef<HTMLDivElement>(null);
  const everywhere = useSignal(false);
  const from = useSignal('');
  const to = useSignal('');
  useLayoutEffect(() => {
    place.current?.querySelector<HTMLElement>('input, select')?.focus();
  }, []);
  const draft = grid.schedule.draft.value;
  const selected = grid.cells();
  const isOne = selected.keys.length <= 1 && selected.columns.length <= 1;
  const isAll = everywhere.value || isOne;
  const [rows, columns] = [grid.shown.value, grid.columns.value];
  const cells = useMemo(
    (): Cells => (isAll ? { keys: rows.map(({ key }) => key), columns } : grid.cells()),
    [isAll, rows, columns, grid.selection.value],
  );
  const standing = useMemo(() => countFinishes(draft, cells), [draft, cells]);
  const now = standing.find(({ finish }) => finish === from.value)?.finish ?? standing[0]?.finish ?? '';
  const uses = useMemo(() => (now === '' ? [] : listUses(draft, cells, now)), [draft, cells, now]);
  const slots = new Set(uses.map(({ slot }) => slot));
  const offered = [
    ...new Set(
      grid.slots.value.flatMap(({ slot, allowed }) => (slots.has(slot) ? allowed.map(({ finish }) => finish) : [])),
    ),
  ].filter((finish) => finish !== now);
  const next = offered.includes(to.value) ? to.value : to.value === '-' ? '-' : (offered[0] ?? '-');
  const nameOf = (finish: string) => (finish === '-' ? texts.noFinish : (grid.getFinish(finish)?.name ?? finish));
  const against = useMemo(
    () => countBroken(draft, uses, next === '-' ? null : next, grid.choices.isAllowed),
    [draft, uses, next, grid.choices.guide.value],
  );
  const label = (slot: string) => grid.slots.value.find((each) => each.slot === slot)?.label ?? slot;
  return (
    <Panel title={texts.replace} onClose={onClose}>
      <div ref={place} class="replace-panel">
        <fieldset>
          <label class="tick">
            <input
              type="radio"
              name="where"
              disabled={isOne}
              checked={!everywhere.value && !isOne}
              onChange={() => {
                everywhere.value = false;
              }}
            />
            <span>{texts.replaceIn(selected.keys.length, selected.columns.length)}</span>
          </label>
          <label class="tick">
            <input
              type="radio"
              name="where"
              checked={everywhere.value || isOne}
              onChange={() => {
                everywhere.value = true;
              }}
            />
            <span>{texts.replaceAll}</span>
          </label>
        </fieldset>
        {standing.length === 0 ? (
          <p>{texts.replaceNone}</p>
        ) : (
          <>
            <Field name={texts.this}>
              <Select
                label={texts.this}
                value={now}
                options={standing.map(({ finish, cells: count }) => [
                  finish,
                  `${nameOf(finish)} (${finish}), ${count}`,
                ])}
                onPick={(finish) => {
                  from.value = finish;
                }}
              />
            </Field>
            <Field name={texts.by}>
              <Select
                label={texts.by}
                value={next}
                options={[
                  ...offered.map((finish) => [finish, `${nameOf(finish)} (${finish})`] as const),
                  ['-', texts.keepOriginal] as const,
                ]}
                onPick={(finish) => {
                  to.value = finish;
                }}
              />
            </Field>
            <p role="status">{texts.replacePlan(uses.length, new Set(uses.map(({ row }) => row.key)).size)}</p>
            <ul class="small planned">
              {uses.slice(0, NAMED).map(({ row, slot }) => (
                <li key={`${row.key} ${slot}`}>{texts.change(row.name, label(slot), nameOf(now), nameOf(next))}</li>
              ))}
              {uses.length > NAMED && <li>{commonTexts.more(uses.length - NAMED)}</li>}
            </ul>
            {against > 0 && <p class="small against">{texts.against(against)}</p>}
            <button
              type="button"
              class="main"
              onClick={() => {
                grid.edit(texts.steps.replace, (before) => replaceFinish(before, uses, next === '-' ? null : next));
                if (next !== '-') grid.remember(next);
                grid.told.value = texts.setTo(nameOf(next), uses.length);
                onClose();
              }}
            >
              {texts.replaceNow(uses.length)}
            </button>
          </>
        )}
      </div>
    </Panel>
  );
}
