import { useSignal } from '@preact/signals';
import { useLayoutEffect, useRef } from 'preact/hooks';
import { formatNumber } from '../../../../../server/core/texts/format-text.ts';
import { Field } from '../../../../parts/form.tsx';
import { Chip } from '../../../../parts/picture.tsx';
import { commonTexts } from '../../../../texts/common.ts';
import { scheduleTexts as texts } from '../../../../texts/product-schedule.ts';
import { countValues } from './arrange-rows.ts';
import { keepOrder } from './grid-commands.ts';
import type { GridModel } from './grid-model.ts';
import { Panel } from './panel.tsx';
import { fold } from './read-finish.ts';

/** Values shown at once; the search finds the others. */
const MOST_VALUES = 200;

interface ColumnPanelProps {
  readonly grid: GridModel;
  readonly column: string;
  readonly onClose: () => void;
}

/** What can be done with a column: sort by it, show rows with some of its values, change its width. */
export function ColumnPanel({ grid, column: id, onClose }: ColumnPanelProps) {
  const place = useRef<HTMLDivElement>(null);
  const search = useSignal('');
  useLayoutEffect(() => {
    place.current?.querySelector<HTMLElement>('input')?.focus();
  }, []);
  const column = grid.columns.value.find((each) => each.id === id);
  if (!column) return null;
  const order = grid.order.value;
  const { rows } = grid.schedule.draft.value;
  const filters = grid.filters.value;
  const chosen = filters.get(id) ?? null;
  const values = column.kind === 'picture' ? [] : countValues(rows, grid.columns.value, filters, column, grid.read);
  const wanted = fold(search.value);
  const found =
    wanted === '' ? values : values.filter(({ value }) => fold(grid.labelOf(column, value)).includes(wanted));
  const sort = (descending: boolean | null) =>
    grid.arrange(filters, descending === null ? null : { column: id, descending });
  const toggle = (value: string, on: boolean) => {
    const next = new Set(chosen ?? []);
    if (on) next.add(value);
    else next.delete(value);
    grid.filter(id, next.size === 0 ? null : next);
  };
  const orders = [
    [false, texts.ascending],
    [true, texts.descending],
    [null, texts.unsorted],
  ] as const;
  return (
    <Panel title={texts.columnTitle(column.label)} onClose={onClose}>
      <div ref={place} class="column-panel">
        {column.kind !== 'picture' && (
          <>
            <fieldset>
              <legend>{texts.sort}</legend>
              {orders.map(([descending, label]) => (
                <label class="tick" key={label}>
                  <input
                    type="radio"
                    name="order"
                    checked={
                      descending === null
                        ? order?.column !== id
                        : order?.column === id && order.descending === descending
                    }
                    onChange={() => sort(descending)}
                  />
                  <span>{label}</span>
                </label>
              ))}
              {order && filters.size === 0 && (
                <button type="button" onClick={() => keepOrder(grid)}>
                  {texts.keepOrder}
                </button>
              )}
            </fieldset>
            <fieldset>
              <legend>{texts.showRowsWith}</legend>
              <input
                type="text"
                aria-label={texts.searchValues}
                placeholder={texts.searchValues}
                value={search.value}
                onInput={(event) => {
                  search.value = event.currentTarget.value;
                }}
              />
              <div class="values">
                {found.slice(0, MOST_VALUES).map(({ value, rows: count }) => (
                  <label class="tick" key={value}>
                    <input
                      type="checkbox"
                      checked={chosen?.has(value) ?? false}
                      onChange={(event) => toggle(value, event.currentTarget.checked)}
                    />
                    <span>
                      {column.kind === 'slot' && <Chip hex={grid.getFinish(value)?.resolved.hex} />}{' '}
                      {value === '' ? texts.emptyValue : grid.labelOf(column, value)}, {formatNumber(count)}
                    </span>
                  </label>
                ))}
                {found.length > MOST_VALUES && <p class="small">{commonTexts.more(found.length - MOST_VALUES)}</p>}
              </div>
              {chosen && (
                <button type="button" onClick={() => grid.filter(id, null)}>
                  {texts.clearFilter}
                </button>
              )}
            </fieldset>
          </>
        )}
        <Field name={texts.widthPx} inline>
          <input
            type="number"
            min={48}
            max={800}
            step={8}
            value={grid.widths.value.get(id) ?? column.widthPx}
            onChange={(event) => {
              const px = event.currentTarget.valueAsNumber;
              if (px > 0) grid.setWidth(column, px);
            }}
          />
        </Field>
      </div>
    </Panel>
  );
}
