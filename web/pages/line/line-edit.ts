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

/** Changes grade or status of one finish; an empty grade is none. */
export function changeEntry(line: Line, finish: string, change: Partial<Omit<RangeEntry, 'finish'>>): Line {
  return {
    ...line,
    range: line.range.map((entry) => {
      if (entry.finish !== finish) return entry;
      const { grade, ...rest } = { ...entry, ...change };
      return grade ? { ...rest, grade } : rest;
    }),
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
