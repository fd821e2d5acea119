import { computed, useSignal } from '@preact/signals';
import { useEffect, useLayoutEffect, useMemo, useRef } from 'preact/hooks';
import { Chip, Picture } from '../../../../parts/picture.tsx';
import { scheduleTexts as texts } from '../../../../texts/product-schedule.ts';
import type { ProductModel } from '../../product-model.ts';
import type { Row } from '../schedule-draft.ts';
import { type GridColumn, STICKY } from './grid-columns.ts';
import { commitText, openCell } from './grid-commands.ts';
import type { GridModel } from './grid-model.ts';
import { at, boxOf } from './grid-selection.ts';

interface GridRowProps {
  readonly model: ProductModel;
  readonly columns: readonly GridColumn[];
  readonly row: Row;
  /** From 0, in the order shown. */
  readonly index: number;
  readonly topPx: number;
}

/** One row. It follows only what concerns it, so that a key renders two rows of two thousand. */
export function GridRow({ model, columns, row, index, topPx }: GridRowProps) {
  const { grid } = model;
  const { marks, state, approval, isDefault, editing } = useMemo(
    () => ({
      /** First and last selected column, and that of the cursor; −1 without. */
      marks: computed(() => {
        const { top, bottom, left, right } = boxOf(grid.selection.value);
        const { cursor } = grid.selection.value;
        const inBox = top <= index && index <= bottom;
        return [inBox ? left : -1, inBox ? right : -1, cursor.row === index ? cursor.column : -1].join(' ');
      }),
      state: computed(() => grid.words.state(row)),
      approval: computed(() => grid.words.approval(row)),
      isDefault: computed(() => grid.schedule.draft.value.defaultKey === row.key),
      editing: computed(() => (grid.editing.value?.key === row.key ? grid.editing.value : null)),
    }),
    [grid, row, index],
  );
  const [left, right, cursor] = marks.value.split(' ').map(Number) as [number, number, number];
  const objected = grid.choices.isAllowed(row.choices)
    ? []
    : grid.choices.explainRow(row.choices).flatMap(({ slots }) => slots);
  return (
    <div role="row" class="grid-row" aria-rowindex={index + 2} tabIndex={-1} style={{ top: `${topPx}px` }}>
      {columns.map((column, place) => {
        const isSelected = left <= place && place <= right && left >= 0;
        const against = column.kind === 'slot' && objected.includes(column.slot);
        const names = ['cell', `of-${column.kind}`];
        if (place < STICKY) names.push('kept', `kept-${place}`);
        if (isSelected) names.push('selected');
        if (against) names.push('against');
        const open = editing.value?.column === column.id ? editing.value : null;
        return (
          <div
            role="gridcell"
            key={column.id}
            class={names.join(' ')}
            aria-colindex={place + 1}
            aria-selected={isSelected}
            aria-invalid={against ? 'true' : undefined}
            aria-readonly={column.kind === 'approval' || column.kind === 'state' || column.kind === 'picture'}
            tabIndex={cursor === place ? 0 : -1}
            {...pointer(grid, index, place)}
          >
            {open ? (
              <CellField grid={grid} label={texts.editCell(column.label, index + 1)} text={open.text} />
            ) : (
              <CellContent
                model={model}
                row={row}
                column={column}
                words={column.kind === 'state' ? state.value : approval.value}
                isDefault={isDefault.value}
              />
            )}
          </div>
        );
      })}
    </div>
  );
}

/** A press selects, a drag or Shift extends, a double press opens. A finger opens what it has selected before. */
function pointer(grid: GridModel, row: number, column: number) {
  const isCursor = () => {
    const { cursor } = grid.selection.value;
    return cursor.row === row && cursor.column === column;
  };
  let wasCursor = false;
  return {
    onMouseDown: (event: MouseEvent) => {
      if (event.button !== 0 || event.target instanceof HTMLInputElement) return;
      wasCursor = isCursor();
      if (event.shiftKey) event.preventDefault();
      if (event.shiftKey) grid.goTo({ row, column }, true);
      else grid.select(at({ row, column }));
      grid.focus();
    },
    onMouseEnter: (event: MouseEvent) => {
      if (event.buttons === 1 && !(event.target instanceof HTMLInputElement)) grid.goTo({ row, column }, true);
    },
    onClick: (event: MouseEvent) => {
      const isFinger = 'pointerType' in event && event.pointerType === 'touch';
      if (isFinger && wasCursor) openCell(grid, null);
    },
    onDblClick: (event: MouseEvent) => {
      if (!(event.target instanceof HTMLInputElement)) openCell(grid, null);
    },
  };
}

interface CellContentProps {
  readonly model: ProductModel;
  readonly row: Row;
  readonly column: GridColumn;
  /** Text of the approval or the state. */
  readonly words: string;
  readonly isDefault: boolean;
}

function CellContent({ model, row, column, words, isDefault }: CellContentProps) {
  const { grid } = model;
  switch (column.kind) {
    case 'picture':
      return <RowPicture model={model} row={row} />;
    case 'code':
      return <span class="code">{row.code}</span>;
    case 'name':
      return (
        <span class="text" dir="auto">
          {row.name}
          {isDefault && <small class="soft"> {texts.isDefault}</small>}
        </span>
      );
    case 'gtin':
      return <span class="text">{row.gtin}</span>;
    case 'slot': {
      const chosen = grid.choiceAt(row, column.slot);
      const finish = grid.getFinish(chosen);
      return (
        <>
          <Chip hex={finish?.resolved.hex} />
          <span class={chosen ? 'text' : 'text soft'}>
            {chosen ? (finish?.name ?? chosen) : texts.noFinish} {finish && <small class="soft">{finish.finish}</small>}
          </span>
        </>
      );
    }
    default:
      return <span class="text">{words}</span>;
  }
}

/** Rows that are scrolled past ask for no picture. */
const PICTURE_AFTER_MS = 200;

function RowPicture({ model, row }: { readonly model: ProductModel; readonly row: Row }) {
  const stays = useSignal(false);
  useEffect(() => {
    const timer = setTimeout(() => {
      stays.value = true;
    }, PICTURE_AFTER_MS);
    return () => clearTimeout(timer);
  }, []);
  if (!stays.value) return null;
  const address = model.getPictureAddress(row);
  const sized = `${address}${address.includes('?') ? '&' : '?'}size=256`;
  return <Picture address={sized} alt="" version={model.version.value} />;
}

interface CellFieldProps {
  readonly grid: GridModel;
  readonly label: string;
  readonly text: string;
}

/** The text of a cell while it is written. Enter and leaving it commit; Escape leaves it as it was. */
function CellField({ grid, label, text }: CellFieldProps) {
  const field = useRef<HTMLInputElement>(null);
  useLayoutEffect(() => {
    const input = field.current!;
    input.focus({ preventScroll: true });
    input.setSelectionRange(input.value.length, input.value.length);
  }, []);
  return (
    <input
      ref={field}
      type="text"
      aria-label={label}
      defaultValue={text}
      spellcheck={false}
      autocomplete="off"
      onKeyDown={(event) => {
        if (event.isComposing) return;
        if (event.key === 'Escape') {
          grid.editing.value = null;
          grid.focus();
        } else if (event.key === 'Enter') {
          commitText(grid, event.currentTarget.value, event.shiftKey ? -1 : 1);
          grid.focus();
        } else if ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === 's') {
          // the page saves; the focus stays in the grid
          commitText(grid, event.currentTarget.value, 0);
          grid.focus();
          return;
        } else return;
        event.preventDefault();
        event.stopPropagation();
      }}
      onBlur={(event) => commitText(grid, event.currentTarget.value, 0)}
    />
  );
}
