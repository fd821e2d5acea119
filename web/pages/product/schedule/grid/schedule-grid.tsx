import { useComputed } from '@preact/signals';
import { useEffect, useLayoutEffect, useRef } from 'preact/hooks';
import { scheduleTexts as texts } from '../../../../texts/product-schedule.ts';
import type { ProductModel } from '../../product-model.ts';
import { STICKY } from './grid-columns.ts';
import * as commands from './grid-commands.ts';
import { GridHead } from './grid-head.tsx';
import { pressKey } from './grid-keys.ts';
import type { GridModel } from './grid-model.ts';
import { GridRow } from './grid-row.tsx';
import { HEAD } from './grid-selection.ts';
import { FIND } from './grid-tools.tsx';
import { useVirtualRows } from './use-virtual-rows.ts';

/** Heights in CSS px; the style sheet has the same. */
const ROW_PX = 36;
const HEAD_PX = 40;

/** The schedule as a grid of cells (the grid pattern of ARIA): only the rows in sight are in the document. */
export function ScheduleGrid({ model }: { readonly model: ProductModel }) {
  const { grid } = model;
  const root = useRef<HTMLDivElement>(null);
  const rows = grid.shown.value;
  const columns = grid.columns.value;
  // the whole component follows the row of the cursor, and nothing else of the selection
  const cursorRow = useComputed(() => grid.selection.value.cursor.row).value;
  const virtual = useVirtualRows(root, {
    count: rows.length,
    heightPx: ROW_PX,
    headPx: HEAD_PX,
    always: cursorRow,
  });
  const widths = columns.map((column) => grid.widths.value.get(column.id) ?? column.widthPx);
  useClipboard(grid, root);
  useFocus(grid, root, widths);
  useEffect(() => {
    const watcher = new ResizeObserver(([entry]) => {
      grid.page.value = Math.max(1, Math.floor(((entry?.contentRect.height ?? 0) - HEAD_PX) / ROW_PX) - 1);
    });
    watcher.observe(root.current!);
    return () => watcher.disconnect();
  }, [grid]);
  const lefts = widths.slice(0, STICKY).map((_, at) => widths.slice(0, at).reduce((sum, px) => sum + px, 0));
  return (
    <div
      ref={root}
      class="grid"
      role="grid"
      aria-label={texts.grid(model.product.value?.name ?? model.code)}
      aria-multiselectable="true"
      aria-rowcount={rows.length + 1}
      aria-colcount={columns.length}
      style={{
        '--columns': widths.map((px) => `${px}px`).join(' '),
        '--width': `${widths.reduce((sum, px) => sum + px, 0)}px`,
        ...Object.fromEntries(lefts.map((px, at) => [`--left-${at}`, `${px}px`])),
      }}
      onKeyDown={(event) => {
        if ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === 'f' && !event.shiftKey && !event.altKey) {
          document.getElementById(FIND)?.focus();
          event.preventDefault();
          return;
        }
        const before = grid.selection.value;
        if (isTyping(event.target) || !pressKey(grid, event)) return;
        event.preventDefault();
        // the row that had the focus may be out of sight, and go
        if (grid.selection.value !== before) grid.focus();
      }}
    >
      <GridHead grid={grid} columns={columns} />
      <div role="rowgroup" class="grid-body" style={{ height: `${virtual.getTotalSize()}px` }}>
        {virtual.getVirtualItems().map(({ index, start }) => {
          const row = rows[index];
          return row && <GridRow key={row.key} model={model} columns={columns} row={row} index={index} topPx={start} />;
        })}
      </div>
    </div>
  );
}

const isTyping = (target: EventTarget | null) => target instanceof HTMLInputElement;

/** Scrolls the cursor into sight, and moves the focus with it while that is in the grid, or when asked for. */
function useFocus(grid: GridModel, root: { current: HTMLDivElement | null }, widths: readonly number[]): void {
  const place = useComputed(() => grid.selection.value.cursor).value;
  const asked = grid.focusAsked.value;
  const answered = useRef(0);
  useLayoutEffect(() => {
    const element = root.current!;
    if (!grid.editing.value) scrollTo(element, place.row, place.column, widths);
    const isInside = element.contains(document.activeElement) && !isTyping(document.activeElement);
    if (!isInside && asked === answered.current) return;
    answered.current = asked;
    if (grid.editing.value) return;
    element.querySelector<HTMLElement>('[tabindex="0"]')?.focus({ preventScroll: true });
  }, [place, asked]);
}

function scrollTo(element: HTMLElement, row: number, column: number, widths: readonly number[]): void {
  if (row !== HEAD) {
    const top = row * ROW_PX;
    const room = element.clientHeight - HEAD_PX;
    if (top < element.scrollTop) element.scrollTop = top;
    else if (top + ROW_PX > element.scrollTop + room) element.scrollTop = top + ROW_PX - room;
  }
  if (column < STICKY) return;
  const sum = (list: readonly number[]) => list.reduce((all, px) => all + px, 0);
  const left = sum(widths.slice(0, column));
  const kept = sum(widths.slice(0, STICKY));
  if (left - kept < element.scrollLeft) element.scrollLeft = left - kept;
  else if (left + widths[column]! > element.scrollLeft + element.clientWidth) {
    element.scrollLeft = Math.min(left - kept, left + widths[column]! - element.clientWidth);
  }
}

/** Copy, cut and paste while the grid has the focus. */
function useClipboard(grid: GridModel, root: { current: HTMLDivElement | null }): void {
  useEffect(() => {
    const isOurs = () => root.current?.contains(document.activeElement) && !isTyping(document.activeElement);
    const copy = (event: ClipboardEvent) => {
      if (!isOurs() || !event.clipboardData) return;
      event.preventDefault();
      event.clipboardData.setData('text/plain', commands.copyText(grid));
      if (event.type === 'cut') commands.clear(grid, texts.steps.cut);
    };
    const paste = (event: ClipboardEvent) => {
      if (!isOurs() || !event.clipboardData) return;
      event.preventDefault();
      commands.pasteText(grid, event.clipboardData.getData('text/plain'));
    };
    document.addEventListener('copy', copy);
    document.addEventListener('cut', copy);
    document.addEventListener('paste', paste);
    return () => {
      document.removeEventListener('copy', copy);
      document.removeEventListener('cut', copy);
      document.removeEventListener('paste', paste);
    };
  }, [grid]);
}
