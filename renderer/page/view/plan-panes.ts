/** Rows and columns of a view that shows several variants. */
export interface PaneGrid {
  readonly columns: number;
  readonly rows: number;
}

/** Most variants side by side. */
export const MOST_PANES = 4;

/** Two stand beside each other in a wide view, one above the other in a narrow one; more stand in two columns. */
export function planPanes(count: number, width: number, height: number): PaneGrid {
  if (count <= 1) return { columns: 1, rows: 1 };
  if (count === 2) return width >= height * 0.9 ? { columns: 2, rows: 1 } : { columns: 1, rows: 2 };
  return { columns: 2, rows: 2 };
}
