import { useLayoutEffect, useRef } from 'preact/hooks';
import { Chip, Picture } from '../../../../parts/picture.tsx';
import { scheduleTexts as texts } from '../../../../texts/product-schedule.ts';
import type { ProductModel } from '../../product-model.ts';
import { commitText } from './grid-commands.ts';
import type { GridModel } from './grid-model.ts';
import { at } from './grid-selection.ts';
import { useVirtualRows } from './use-virtual-rows.ts';

/** Heights in CSS px; the style sheet has the same. */
const HEAD_PX = 116;
const CELL_PX = 44;

/** The variants as cards, for a narrow window: the same rows and selection as the grid. */
export function VariantCards({ model }: { readonly model: ProductModel }) {
  const { grid } = model;
  const root = useRef<HTMLUListElement>(null);
  const rows = grid.shown.value;
  const slots = grid.columns.value.flatMap((column, place) => (column.kind === 'slot' ? [{ column, place }] : []));
  const heightPx = HEAD_PX + slots.length * CELL_PX;
  const cursor = grid.selection.value.cursor;
  const virtual = useVirtualRows(root, { count: rows.length, heightPx, headPx: 0, always: cursor.row });
  useFollow(grid, root, heightPx);
  return (
    <ul ref={root} class="cards" aria-label={texts.grid(model.product.value?.name ?? model.code)}>
      <li aria-hidden="true" style={{ height: `${virtual.getTotalSize()}px` }} />
      {virtual.getVirtualItems().map(({ index, start }) => {
        const row = rows[index];
        if (!row) return null;
        const write = (column: 'code' | 'name') => ({
          value: row[column],
          'aria-label': texts.editCell(texts.columns[column], index + 1),
          onChange: (event: { readonly currentTarget: HTMLInputElement }) => {
            grid.editing.value = { key: row.key, column, text: '' };
            commitText(grid, event.currentTarget.value, 0);
          },
        });
        return (
          <li
            key={row.key}
            class="card"
            aria-setsize={rows.length}
            aria-posinset={index + 1}
            style={{ top: `${start}px`, height: `${heightPx}px` }}
          >
            <div class="card-head">
              <Picture
                address={model.getPictureAddress(row)}
                alt={texts.variantAlt(row.name)}
                version={model.version.value}
              />
              <div>
                <input type="text" {...write('name')} />
                <input type="text" class="code" {...write('code')} />
                <p class="small soft">{[grid.words.state(row), grid.words.approval(row)].filter(Boolean).join(', ')}</p>
              </div>
            </div>
            {slots.map(({ column, place }) => {
              const chosen = grid.choiceAt(row, column.slot);
              const finish = grid.getFinish(chosen);
              return (
                <button
                  type="button"
                  class="card-cell"
                  key={column.id}
                  aria-current={index === cursor.row && place === cursor.column ? 'true' : undefined}
                  onClick={() => {
                    grid.select(at({ row: index, column: place }));
                    grid.openFinishes('');
                  }}
                >
                  <small class="soft">{column.label}</small>
                  <Chip hex={finish?.resolved.hex} />
                  <span>{chosen ? (finish?.name ?? chosen) : texts.noFinish}</span>
                </button>
              );
            })}
          </li>
        );
      })}
    </ul>
  );
}

/** Scrolls the card of the cursor into sight, and gives it the focus when the grid is asked to take it. */
function useFollow(grid: GridModel, root: { current: HTMLElement | null }, heightPx: number): void {
  const { row, column } = grid.selection.value.cursor;
  const asked = grid.focusAsked.value;
  const answered = useRef(asked);
  useLayoutEffect(() => {
    const element = root.current!;
    const top = Math.max(0, row) * heightPx;
    if (top < element.scrollTop || top + heightPx > element.scrollTop + element.clientHeight) element.scrollTop = top;
    if (asked === answered.current) return;
    answered.current = asked;
    const card = element.querySelector(`[aria-posinset="${row + 1}"]`);
    const cell =
      card?.querySelector<HTMLElement>('[aria-current]') ?? card?.querySelector<HTMLElement>('input, button');
    cell?.focus({ preventScroll: true });
    cell?.scrollIntoView({ block: 'nearest' });
  }, [row, column, asked]);
}
