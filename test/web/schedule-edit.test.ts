import { describe, expect, it } from 'vitest';
import type { Schedule } from '../../server/core/schedule/schedule.ts';
import {
  addRow,
  describeChanges,
  duplicateRow,
  EMPTY,
  fromSchedule,
  listChanges,
  listRowTroubles,
  moveRow,
  removeRow,
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
const codes = (draft: typeof saved) => draft.rows.map((row) => row.code).join(' ');

describe('editing a schedule', () => {
  it('gives back what it was given', () => {
    expect(toSchedule(saved)).toEqual(SCHEDULE);
  });

  it('puts a finish in a cell, and empties it', () => {
    const chosen = setChoice(saved, 3, 'seat', 'TWO');
    expect(toSchedule(chosen).variants[2]!.choices).toEqual({ seat: 'TWO' });
    expect(toSchedule(setChoice(chosen, 3, 'seat', null)).variants[2]!.choices).toEqual({});
    expect(saved.rows[2]!.choices).toEqual({});
  });

  it('writes a GTIN, and takes it away; a copy of the row is another trade item', () => {
    const sold = setGtin(saved, 1, ' 6291041500213 ');
    expect(toSchedule(sold).variants[0]!.gtin).toBe('6291041500213');
    expect(listChanges(saved, sold).changed).toBe(1);
    expect(duplicateRow(sold, 1).rows[1]!.gtin).toBeUndefined();
    const without = setGtin(sold, 1, ' ');
    expect(toSchedule(without)).toEqual(SCHEDULE);
    expect(listChanges(saved, without).any).toBe(false);
    expect([...listRowTroubles(setGtin(sold, 2, '06291041500213')).keys()]).toEqual([2]);
    expect(listRowTroubles(setGtin(saved, 3, '6291041500214')).get(3)).toContain('check digit');
  });

  it('duplicates a row under itself, with a code and name of its own', () => {
    const twice = duplicateRow(duplicateRow(saved, 1), 1);
    expect(codes(twice)).toBe('A A-3 A-2 B C');
    expect(twice.rows.map((row) => row.name)).toContain('Ash 3');
    expect(twice.rows[1]!.choices).toEqual(SCHEDULE.variants[0]!.choices);
  });

  it('moves rows, and leaves them at the ends', () => {
    expect(codes(moveRow(saved, 1, 1))).toBe('B A C');
    expect(codes(moveRow(saved, 1, -1))).toBe('A B C');
    expect(codes(moveRow(saved, 3, 1))).toBe('A B C');
  });

  it('keeps the default by its row, whatever its code; the first row follows a default that goes', () => {
    expect(toSchedule(setCode(saved, 2, 'B2')).default).toBe('B2');
    expect(toSchedule(setDefault(saved, 3)).default).toBe('C');
    expect(toSchedule(removeRow(saved, 2)).default).toBe('A');
  });

  it('begins with nothing, and makes the first row the default', () => {
    const first = addRow(EMPTY);
    expect(toSchedule(first)).toEqual({
      default: 'V01',
      variants: [{ code: 'V01', name: 'New variant', choices: {} }],
    });
    expect(addRow(saved).rows.at(-1)!.choices).toEqual({ seat: 'ONE' });
  });
});

describe('what is not saved', () => {
  it('is nothing when all is as it was, even by way of an edit and back', () => {
    expect(listChanges(saved, saved).any).toBe(false);
    const back = setName(setName(saved, 1, 'Elm'), 1, 'Ash');
    expect(listChanges(saved, back).any).toBe(false);
    expect(listChanges(saved, setChoice(setChoice(saved, 2, 'legs', 'TWO'), 2, 'legs', null)).any).toBe(false);
  });

  it('is said by row and in a sentence', () => {
    const draft = removeRow(duplicateRow(setName(saved, 1, 'Elm'), 2), 3);
    const changes = listChanges(saved, draft);
    expect([...changes.rows.values()]).toEqual(['changed', 'saved', 'new']);
    expect(describeChanges(changes)).toBe('Not saved: 1 row changed, 1 row added, 1 row removed.');
    expect(describeChanges(listChanges(saved, moveRow(saved, 1, 2)))).toBe('Not saved: order changed.');
    expect(listChanges(saved, setDefault(saved, 1))).toMatchObject({ defaultChanged: true, any: true, changed: 0 });
  });

  it('cannot be saved while codes or names are doubled or not well formed', () => {
    expect(listRowTroubles(saved).size).toBe(0);
    expect([...listRowTroubles(setCode(saved, 3, 'a')).keys()]).toEqual([3]);
    expect([...listRowTroubles(setName(saved, 2, 'ASH ')).keys()]).toEqual([2]);
    expect([...listRowTroubles(setName(saved, 2, ' ')).keys()]).toEqual([2]);
    expect([...listRowTroubles(setCode(saved, 1, 'no spaces')).keys()]).toEqual([1]);
  });
});
