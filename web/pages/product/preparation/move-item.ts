/** Moves an item of a list by so many places, as far as the list goes. */
export function moveItem<T>(items: readonly T[], at: number, by: number): T[] {
  const to = Math.max(0, Math.min(items.length - 1, at + by));
  const item = items[at];
  if (item === undefined || to === at) return [...items];
  return items.toSpliced(at, 1).toSpliced(to, 0, item);
}

/** The list without one of its items. */
export function removeItem<T>(items: readonly T[], at: number): T[] {
  return items.toSpliced(at, 1);
}
