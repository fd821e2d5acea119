import type { PieceGroup } from '../../../../server/core/repair/repair.ts';

/** Renames a group; one that takes another's name is joined into it, since a name is a slot. */
export function renameGroup(groups: readonly PieceGroup[], at: number, name: string): PieceGroup[] {
  const same = groups.findIndex((group, index) => index !== at && group.name === name);
  if (same >= 0) return joinGroups(groups, at, same);
  return groups.map((group, index) => (index === at ? { ...group, name } : group));
}

/** Puts the pieces of one group into another, which keeps its name and colour. */
export function joinGroups(groups: readonly PieceGroup[], from: number, into: number): PieceGroup[] {
  const gone = groups[from];
  if (!gone || from === into) return [...groups];
  return groups.flatMap((group, index) => {
    if (index === from) return [];
    if (index !== into) return [group];
    const joined = { ...group, pieces: [...group.pieces, ...gone.pieces] };
    return [{ ...joined, ...joinLists('parts', group, gone), ...joinLists('shapes', group, gone) }];
  });
}

function joinLists(field: 'parts' | 'shapes', group: PieceGroup, gone: PieceGroup) {
  const all = [...new Set([...(group[field] ?? []), ...(gone[field] ?? [])])];
  return all.length > 0 ? { [field]: all } : {};
}

/** The group whose name is gone, and what its pieces go by now: it was renamed, or joined into another. */
export function findRenamed(
  before: readonly PieceGroup[],
  after: readonly PieceGroup[],
): { readonly from: string; readonly to: string } | undefined {
  const now = new Set(after.map(({ name }) => name));
  const gone = before.find(({ name }) => !now.has(name));
  const to = after.find(({ pieces }) => gone !== undefined && pieces.includes(gone.pieces[0] ?? ''));
  return gone && to ? { from: gone.name, to: to.name } : undefined;
}
