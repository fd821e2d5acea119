/** A cell by its place in the grid, from 0: the row in the order shown, and the column. Row `HEAD` has the column heads. */
export interface Place {
  readonly row: number;
  readonly column: number;
}

export const HEAD = -1;

/** The cells between an anchor and the cursor. */
export interface Selection {
  readonly anchor: Place;
  readonly cursor: Place;
}

export interface Size {
  readonly rows: number;
  readonly columns: number;
  /** Rows in sight. */
  readonly page: number;
}

/** The selected cells; `bottom` and `right` are included. */
export interface Box {
  readonly top: number;
  readonly bottom: number;
  readonly left: number;
  readonly right: number;
}

export const START: Selection = at({ row: 0, column: 1 });

/** One selected cell. */
export function at(place: Place): Selection {
  return { anchor: place, cursor: place };
}

export function boxOf({ anchor, cursor }: Selection): Box {
  return {
    top: Math.min(anchor.row, cursor.row),
    bottom: Math.max(anchor.row, cursor.row),
    left: Math.min(anchor.column, cursor.column),
    right: Math.max(anchor.column, cursor.column),
  };
}

/** Moves the cursor to a place, or to the nearest there is. */
export function moveTo(selection: Selection, place: Place, size: Size, extend: boolean): Selection {
  const column = clamp(place.column, size.columns);
  if (!extend && place.row === HEAD) return at({ row: HEAD, column });
  const cursor = { row: clamp(place.row, size.rows), column };
  if (extend) return { anchor: clampPlace(selection.anchor, size), cursor };
  return at(cursor);
}

/** Keeps a selection within a grid that has become smaller. */
export function keepInside(selection: Selection, size: Size): Selection {
  return { anchor: clampPlace(selection.anchor, size), cursor: clampPlace(selection.cursor, size) };
}

interface Pressed {
  readonly key: string;
  /** Ctrl, or ⌘. */
  readonly command: boolean;
  readonly shift: boolean;
}

/** The selection after a key that moves; null for other keys. Arrows with Ctrl go to the end of the row or column. */
export function moveByKey(selection: Selection, { key, command, shift }: Pressed, size: Size): Selection | null {
  const { row, column } = selection.cursor;
  const last = { row: size.rows - 1, column: size.columns - 1 };
  const go = (place: Partial<Place>) => moveTo(selection, { row, column, ...place }, size, shift);
  switch (key) {
    case 'ArrowUp':
      // from the first row into the column heads
      return go({ row: command ? 0 : Math.max(HEAD, row - 1) });
    case 'ArrowDown':
      return go({ row: command ? last.row : row + 1 });
    case 'ArrowLeft':
      return go({ column: command ? 0 : column - 1 });
    case 'ArrowRight':
      return go({ column: command ? last.column : column + 1 });
    case 'Home':
      return go(command ? { row: 0, column: 0 } : { column: 0 });
    case 'End':
      return go(command ? last : { column: last.column });
    case 'PageUp':
      return go({ row: Math.max(0, row - size.page) });
    case 'PageDown':
      return go({ row: row + size.page });
    case 'a':
      return command ? { anchor: { row: 0, column: 0 }, cursor: last } : null;
    case ' ':
      // the whole row, or with Ctrl the whole column
      if (shift && !command) return { anchor: { row, column: 0 }, cursor: { row, column: last.column } };
      if (command && !shift) return { anchor: { row: 0, column }, cursor: { row: last.row, column } };
      return null;
    default:
      return null;
  }
}

const clamp = (value: number, count: number) => Math.max(0, Math.min(value, count - 1));

const clampPlace = ({ row, column }: Place, size: Size): Place => ({
  row: clamp(row, size.rows),
  column: clamp(column, size.columns),
});
