import { describe, expect, it } from 'vitest';
import type { Schedule } from '../../server/core/schedule/schedule.ts';
import {
  addRow,
  describeChanges,
  duplicateRows,
  EMPTY,
  fromSchedule,
  listChanges,
  listRowProblems,
  moveRows,
  removeRows,
  setChoice,
  setCode,
  setDefault,
  setGtin,
  setName,
  toSchedule,
} from '../../web/pages/product/schedule/schedule-draft.ts';

const SCHEDULE: Schedule = {
  default: 'B',
  variants: [
    { code: 'A', name: 'Ash', choices: { seat: 'ONE', legs: 'TWO' } },
    { code: 'B', name: 'Birch', choices: { seat: 'ONE' } },
    { code: 'C', name: 'Cherry', choices: {} },
  ],
};
const saved = fromSchedule(SCHEDULE);
const only = (...keys: number[]) => new Set(keys);
const codes = (draft: typeof saved) => draft.rows.map((row) => row.code).join(' ');

describe('editing a schedule', () => {
  it('returns the same schedule without an edit', () => {
    expect(toSchedule(saved)).toEqual(SCHEDULE);
  });

  it('puts a finish in a cell, and empties it', () => {
    const chosen = setChoice(saved, 3, 'seat', 'TWO');
    expect(toSchedule(chosen).variants[2]!.choices).toEqual({ seat: 'TWO' });
    expect(toSchedule(setChoice(chosen, 3, 'seat', null)).variants[2]!.choices).toEqual({});
    expect(saved.rows[2]!.choices).toEqual({});
  });

  it('sets a GTIN and removes it; a copy of the row is another trade item and has none', () => {
    const sold = setGtin(saved, 1, ' 6291041500213 ');
    expect(toSchedule(sold).variants[0]!.gtin).toBe('6291041500213');
    expect(listChanges(saved, sold).changed).toBe(1);
    expect(duplicateRows(sold, only(1)).rows[1]!.gtin).toBeUndefined();
    const without = setGtin(sold, 1, ' ');
    expect(toSchedule(without)).toEqual(SCHEDULE);
    expect(listChanges(saved, without).any).toBe(false);
    expect([...listRowProblems(setGtin(sold, 2, '06291041500213')).keys()]).toEqual([2]);
    expect(listRowProblems(setGtin(saved, 3, '6291041500214')).get(3)).toContain('check digit');
  });

  it('inserts a copy below the row, with its own code and name', () => {
    const twice = duplicateRows(duplicateRows(saved, only(1)), only(1));
    expect(codes(twice)).toBe('A A-3 A-2 B C');
    expect(twice.rows.map((row) => row.name)).toContain('Ash 3');
    expect(twice.rows[1]!.choices).toEqual(SCHEDULE.variants[0]!.choices);
  });

  it('moves rows, but not past the ends', () => {
    expect(codes(moveRows(saved, only(1), 1))).toBe('B A C');
    expect(codes(moveRows(saved, only(1), -1))).toBe('A B C');
    expect(codes(moveRows(saved, only(3), 1))).toBe('A B C');
    expect(codes(moveRows(saved, only(1, 2), 1))).toBe('C A B');
    expect(codes(moveRows(saved, only(2, 3), 1))).toBe('A B C');
  });

  it('keeps the default with its row when the code changes; the first row replaces a removed default', () => {
    expect(toSchedule(setCode(saved, 2, 'B2')).default).toBe('B2');
    expect(toSchedule(setDefault(saved, 3)).default).toBe('C');
    expect(toSchedule(removeRows(saved, only(2))).default).toBe('A');
  });

  it('starts empty, and makes the first row the default', () => {
    const first = addRow(EMPTY);
    expect(toSchedule(first)).toEqual({
      default: 'V01',
      variants: [{ code: 'V01', name: 'New variant', choices: {} }],
    });
    expect(addRow(saved).rows.at(-1)!.choices).toEqual({ seat: 'ONE' });
  });
});

describe('unsaved changes', () => {
  it('are none after an edit that is changed back', () => {
    expect(listChanges(saved, saved).any).toBe(false);
    const back = setName(setName(saved, 1, 'Elm'), 1, 'Ash');
    expect(listChanges(saved, back).any).toBe(false);
    expect(listChanges(saved, setChoice(setChoice(saved, 2, 'legs', 'TWO'), 2, 'legs', null)).any).toBe(false);
  });

  it('are listed by row and in a sentence', () => {
    const draft = removeRows(duplicateRows(setName(saved, 1, 'Elm'), only(2)), only(3));
    const changes = listChanges(saved, draft);
    expect([...changes.rows.values()]).toEqual(['changed', 'saved', 'new']);
    expect(describeChanges(changes)).toBe('Not saved: 1 row changed, 1 row added, 1 row removed.');
    expect(describeChanges(listChanges(saved, moveRows(saved, only(1), 1)))).toBe('Not saved: order changed.');
    expect(listChanges(saved, setDefault(saved, 1))).toMatchObject({ defaultChanged: true, any: true, changed: 0 });
  });

  it('cannot be saved while codes or names are duplicates or malformed', () => {
    expect(listRowProblems(saved).size).toBe(0);
    expect([...listRowProblems(setCode(saved, 3, 'a')).keys()]).toEqual([3]);
    expect([...listRowProblems(setName(saved, 2, 'ASH ')).keys()]).toEqual([2]);
    expect([...listRowProblems(setName(saved, 2, ' ')).keys()]).toEqual([2]);
    expect([...listRowProblems(setCode(saved, 1, 'no spaces')).keys()]).toEqual([1]);
  });
});
