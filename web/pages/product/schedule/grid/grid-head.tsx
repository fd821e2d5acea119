import { useComputed } from '@preact/signals';
import { scheduleTexts as texts } from '../../../../texts/product-schedule.ts';
import { type GridColumn, STICKY } from './grid-columns.ts';
import type { GridModel } from './grid-model.ts';
import { at, HEAD } from './grid-selection.ts';

interface GridHeadProps {
  readonly grid: GridModel;
  readonly columns: readonly GridColumn[];
}

/** The heads of the columns. A press opens what can be done with a column; the edge changes its width. */
export function GridHead({ grid, columns }: GridHeadProps) {
  const cursor = useComputed(() => {
    const { row, column } = grid.selection.value.cursor;
    return row === HEAD ? column : -1;
  }).value;
  const order = grid.order.value;
  return (
    <div role="row" class="grid-head" aria-rowindex={1} tabIndex={-1}>
      {columns.map((column, index) => {
        const sorted = order?.column === column.id;
        const isFiltered = grid.filters.value.has(column.id);
        return (
          <div
            role="columnheader"
            key={column.id}
            class={index < STICKY ? `column-head kept kept-${index}` : 'column-head'}
            aria-colindex={index + 1}
            aria-sort={sorted ? texts.sortedBy(order.descending) : undefined}
            tabIndex={cursor === index ? 0 : -1}
            onClick={() => {
              grid.select(at({ row: HEAD, column: index }));
              grid.panel.value = { kind: 'column', column: column.id };
            }}
            onKeyDown={() => undefined}
          >
            <span class="head-text">{column.label}</span>
            {(sorted || isFiltered) && (
              <small>
                {[sorted && (order.descending ? texts.descending : texts.ascending), isFiltered && texts.filtered]
                  .filter(Boolean)
                  .join(', ')}
              </small>
            )}
            <Edge grid={grid} column={column} />
          </div>
        );
      })}
    </div>
  );
}

/** The right edge of a column, to drag. By keyboard, the head itself and the panel of the column do the same. */
function Edge({ grid, column }: { readonly grid: GridModel; readonly column: GridColumn }) {
  return (
    <span
      class="edge"
      aria-hidden="true"
      onClick={(event) => event.stopPropagation()}
      onPointerDown={(event) => {
        event.preventDefault();
        event.stopPropagation();
        const edge = event.currentTarget;
        const from = event.clientX;
        const width = grid.widths.value.get(column.id) ?? column.widthPx;
        edge.setPointerCapture(event.pointerId);
        edge.onpointermove = (move) => grid.setWidth(column, width + move.clientX - from);
        edge.onpointerup = () => {
          edge.onpointermove = null;
        };
      }}
    />
  );
}
