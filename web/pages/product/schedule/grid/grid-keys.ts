import * as commands from './grid-commands.ts';
import type { GridModel } from './grid-model.ts';
import { HEAD, moveByKey } from './grid-selection.ts';

type Pressed = Pick<KeyboardEvent, 'key' | 'ctrlKey' | 'metaKey' | 'shiftKey' | 'altKey'>;

/** How much a key widens a column, in CSS px. */
const STEP_PX = 16;

/**
 * Does what a key means in the grid. Copy, cut and paste come as events of their own; undo, redo and save belong to the bench.
 * @returns whether the key is used up
 */
export function pressKey(grid: GridModel, { key, ctrlKey, metaKey, shiftKey, altKey }: Pressed): boolean {
  const command = ctrlKey || metaKey;
  if (grid.selection.value.cursor.row === HEAD && pressInHead(grid, key, command, shiftKey)) return true;
  if (altKey) {
    if (command || (key !== 'ArrowUp' && key !== 'ArrowDown')) return false;
    commands.move(grid, key === 'ArrowUp' ? -1 : 1);
    return true;
  }
  const moved = moveByKey(grid.selection.value, { key, command, shift: shiftKey }, grid.size.value);
  if (moved) {
    grid.select(moved);
    return true;
  }
  const inRows = grid.selection.value.cursor.row !== HEAD;
  switch (key) {
    case 'Enter':
    case 'F2':
      if (inRows) commands.openCell(grid, null);
      return true;
    case 'Delete':
    case 'Backspace':
      if (!inRows) return false;
      if (command) commands.remove(grid);
      else commands.clear(grid);
      return true;
    case 'F8':
      commands.goToEmpty(grid, shiftKey);
      return true;
    case 'F3':
      commands.goToHit(grid, shiftKey);
      return true;
    case 'Escape':
      if (grid.panel.value === null) return false;
      grid.panel.value = null;
      return true;
  }
  if (command && key.toLowerCase() === 'd' && inRows) {
    if (shiftKey) commands.duplicate(grid);
    else commands.fill(grid);
    return true;
  }
  if (command || key.length !== 1 || key === ' ' || !inRows) return false;
  commands.openCell(grid, key);
  return true;
}

/** In a column head: Enter opens what can be done with the column, Shift and an arrow change its width. */
function pressInHead(grid: GridModel, key: string, command: boolean, shift: boolean): boolean {
  const column = grid.cursorColumn.value;
  if (!column) return false;
  if (key === 'Enter' || key === 'F2' || key === ' ') {
    grid.panel.value = { kind: 'column', column: column.id };
    return true;
  }
  if (!shift || command || !commands.isWidening(column, key)) return false;
  const width = grid.widths.value.get(column.id) ?? column.widthPx;
  grid.setWidth(column, width + (key === 'ArrowRight' ? STEP_PX : -STEP_PX));
  return true;
}
