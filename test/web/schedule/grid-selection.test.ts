import { describe, expect, it } from 'vitest';
import {
  at,
  boxOf,
  HEAD,
  keepInside,
  moveByKey,
  moveTo,
  type Selection,
} from '../../../web/pages/product/schedule/grid/grid-selection.ts';

const size = { rows: 100, columns: 10, page: 20 };
const press = (selection: Selection, key: string, { command = false, shift = false } = {}) =>
  moveByKey(selection, { key, command, shift }, size);
const cursor = (row: number, column: number) => at({ row, column });

describe('the cursor of the grid', () => {
  it.each([
    ['ArrowUp', {}, [49, 5]],
    ['ArrowDown', {}, [51, 5]],
    ['ArrowLeft', {}, [50, 4]],
    ['ArrowRight', {}, [50, 6]],
    ['Home', {}, [50, 0]],
    ['End', {}, [50, 9]],
    ['PageUp', {}, [30, 5]],
    ['PageDown', {}, [70, 5]],
    ['Home', { command: true }, [0, 0]],
    ['End', { command: true }, [99, 9]],
    ['ArrowDown', { command: true }, [99, 5]],
    ['ArrowUp', { command: true }, [0, 5]],
  ] as const)('%s %o', (key, modifiers, [row, column]) => {
    expect(press(cursor(50, 5), key, modifiers)).toEqual(cursor(row, column));
  });

  it('stops at the edges, and goes from the first row into the column heads', () => {
    expect(press(cursor(99, 9), 'ArrowDown')).toEqual(cursor(99, 9));
    expect(press(cursor(99, 9), 'ArrowRight')).toEqual(cursor(99, 9));
    expect(press(cursor(0, 0), 'ArrowUp')).toEqual(cursor(HEAD, 0));
    expect(press(cursor(HEAD, 0), 'ArrowDown')).toEqual(cursor(0, 0));
    expect(press(cursor(3, 0), 'PageUp')).toEqual(cursor(0, 0));
  });

  it('selects with Shift from where it stood, never into the heads', () => {
    const box = boxOf(press(press(cursor(1, 5), 'ArrowUp', { shift: true })!, 'ArrowUp', { shift: true })!);
    expect(box).toEqual({ top: 0, bottom: 1, left: 5, right: 5 });
    expect(boxOf(press(cursor(2, 3), ' ', { shift: true })!)).toEqual({ top: 2, bottom: 2, left: 0, right: 9 });
    expect(boxOf(press(cursor(2, 3), ' ', { command: true })!)).toEqual({ top: 0, bottom: 99, left: 3, right: 3 });
    expect(boxOf(press(cursor(2, 3), 'a', { command: true })!)).toEqual({ top: 0, bottom: 99, left: 0, right: 9 });
  });

  it('leaves other keys alone, Tab too', () => {
    for (const key of ['Tab', 'Enter', 'x', ' ', 'Escape']) expect(press(cursor(1, 1), key)).toBeNull();
  });

  it('stays inside a grid that becomes smaller', () => {
    expect(keepInside(cursor(50, 5), { ...size, rows: 3 })).toEqual(cursor(2, 5));
    expect(moveTo(cursor(0, 0), { row: 500, column: 50 }, size, false)).toEqual(cursor(99, 9));
  });
});
