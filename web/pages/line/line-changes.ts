import type { Line, Position, RangeEntry } from '../../../server/core/line/line.ts';

export type LineChange = (line: Line) => Line;

/** Changes the label or the options of a position. */
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

/** The fields of an entry that can change; an empty string removes the value. */
export type EntryChange = Partial<Pick<RangeEntry, 'grade' | 'status' | 'lastOrder' | 'replacedBy'>>;

/** Changes one finish of the range. */
export function changeEntry(line: Line, finish: string, change: EntryChange): Line {
  return changeEntries(line, [finish], change);
}

/** Changes several finishes in the same way, such as all finishes of an article. */
export function changeEntries(line: Line, finishes: readonly string[], change: EntryChange): Line {
  const changed = new Set(finishes);
  return {
    ...line,
    range: line.range.map((entry) => (changed.has(entry.finish) ? cleanEntry({ ...entry, ...change }) : entry)),
  };
}

/** Only finishes in phase-out or discontinued have a last order date and a replacement. */
function cleanEntry({ finish, status, grade, lastOrder, replacedBy }: RangeEntry): RangeEntry {
  const isLeaving = status === 'phase-out' || status === 'discontinued';
  return {
    finish,
    status,
    ...(grade && { grade }),
    ...(isLeaving && lastOrder && { lastOrder }),
    ...(isLeaving && replacedBy && { replacedBy }),
  };
}

/** Adds finishes at the end of the range; finishes already in it keep their places. @param grade of the new ones; empty for none */
export function addEntries(line: Line, finishes: readonly string[], grade = ''): Line {
  const known = new Set(line.range.map(({ finish }) => finish));
  const added = finishes.filter((finish) => !known.has(finish));
  const entries = added.map((finish): RangeEntry => ({ finish, status: 'current', ...(grade !== '' && { grade }) }));
  return { ...line, range: [...line.range, ...entries] };
}

export function removeEntry(line: Line, finish: string): Line {
  return { ...line, range: line.range.filter((entry) => entry.finish !== finish) };
}
