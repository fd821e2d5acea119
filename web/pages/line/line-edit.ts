import type { Line, Position, RangeEntry } from '../../../server/core/line/line.ts';

/** Changes what is said of one position. */
export function changePosition(line: Line, key: string, change: Partial<Omit<Position, 'position'>>): Line {
  return {
    ...line,
    positions: line.positions.map((position) => {
      if (position.position !== key) return position;
      const { options, ...rest } = { ...position, ...change };
      return options === undefined ? rest : { ...rest, options };
    }),
  };
}

export function addPosition(line: Line, position: Position): Line {
  return { ...line, positions: [...line.positions, position] };
}

export function removePosition(line: Line, key: string): Line {
  return { ...line, positions: line.positions.filter(({ position }) => position !== key) };
}

/** What of an entry can be changed; an empty word takes away what was said. */
export type EntryChange = Partial<Pick<RangeEntry, 'grade' | 'status' | 'lastOrder' | 'replacedBy'>>;

/** Changes one finish of the range. */
export function changeEntry(line: Line, finish: string, change: EntryChange): Line {
  return changeEntries(line, [finish], change);
}

/** Changes several finishes alike: all those of an article, most often. */
export function changeEntries(line: Line, finishes: readonly string[], change: EntryChange): Line {
  const meant = new Set(finishes);
  return {
    ...line,
    range: line.range.map((entry) => (meant.has(entry.finish) ? settle({ ...entry, ...change }) : entry)),
  };
}

/** A last order date belongs to a finish on its way out, and a successor to one that goes or is gone. */
function settle({ finish, status, grade, lastOrder, replacedBy }: RangeEntry): RangeEntry {
  const leaves = status === 'phase-out' || status === 'discontinued';
  return {
    finish,
    status,
    ...(grade && { grade }),
    ...(leaves && lastOrder && { lastOrder }),
    ...(leaves && replacedBy && { replacedBy }),
  };
}

/** Adds finishes at the end of the range; those in it already stay where they are. */
export function addEntries(line: Line, finishes: readonly string[]): Line {
  const known = new Set(line.range.map(({ finish }) => finish));
  const added = finishes.filter((finish) => !known.has(finish));
  return { ...line, range: [...line.range, ...added.map((finish): RangeEntry => ({ finish, status: 'current' }))] };
}

export function removeEntry(line: Line, finish: string): Line {
  return { ...line, range: line.range.filter((entry) => entry.finish !== finish) };
}
