import { describe, expect, it } from 'vitest';
import { makeRowTexts } from '../../../server/core/schedule/row-template.ts';
import { arrangeRows, countValues, keepArrangement } from '../../../web/pages/product/schedule/grid/arrange-rows.ts';
import {
  clearCells,
  countBroken,
  countEmpty,
  countFinishes,
  fillDown,
  listUses,
  replaceFinish,
  setFinish,
} from '../../../web/pages/product/schedule/grid/edit-cells.ts';
import { findCells, nextEmpty, nextPlace } from '../../../web/pages/product/schedule/grid/find-cells.ts';
import { type GridColumn, readCell } from '../../../web/pages/product/schedule/grid/grid-columns.ts';
import { copyCells, pasteCells } from '../../../web/pages/product/schedule/grid/paste-cells.ts';
import { findFinishes, makeFinishReader } from '../../../web/pages/product/schedule/grid/read-finish.ts';
import { followChoices, useTemplate } from '../../../web/pages/product/schedule/grid/row-texts.ts';
import { type Row, setName } from '../../../web/pages/product/schedule/schedule-draft.ts';
import { COLUMNS, column, FINISHES, makeDraft, NAMES, SLOTS, show } from './make-draft.ts';

const draft = makeDraft('A Ann OAK INK', 'B Bob ASH -', 'C Cy OAK ASH', 'D Dee - -');
const [seat, legs] = [column('seat'), column('legs')];
const keys = (...places: number[]) => places.map((place) => draft.rows[place]!.key);
const words = { approval: () => '', state: () => '' };
const read = (row: Row, of: GridColumn) => readCell(row, of, words);
const named = (row: Row, of: GridColumn) => {
  const text = read(row, of);
  return of.kind === 'slot' ? (NAMES[text.toUpperCase()] ?? text) : text;
};
const readers = new Map(SLOTS.map(({ slot }) => [slot, makeFinishReader(FINISHES, [])]));
const readFinish = (slot: string, text: string) => readers.get(slot)!(text);
const textsOf = makeRowTexts({ name: '{seat} on {legs}', code: '{seat}-{legs}' }, ['seat', 'legs'], (code) =>
  NAMES[code] === undefined ? undefined : { finish: code, name: NAMES[code] },
);

describe('cells of a schedule', () => {
  it('take one finish in every selected slot, and none', () => {
    const next = setFinish(draft, { keys: keys(0, 1), columns: [column('name'), seat, legs] }, 'TEAK');
    expect(show(next).slice(0, 3)).toEqual(['A Ann TEAK TEAK', 'B Bob TEAK TEAK', 'C Cy OAK ASH']);
    expect(show(setFinish(next, { keys: keys(0), columns: [legs] }, null))[0]).toBe('A Ann TEAK -');
    expect(next.rows[2]).toBe(draft.rows[2]);
  });

  it('are filled from the first row, also with nothing', () => {
    expect(show(fillDown(draft, { keys: keys(1, 2, 3), columns: [seat, legs] }))).toEqual([
      'A Ann OAK INK',
      'B Bob ASH -',
      'C Cy ASH -',
      'D Dee ASH -',
    ]);
  });

  it('are cleared; a code and a name go back to the template', () => {
    const next = clearCells(draft, { keys: keys(0, 2), columns: [column('code'), column('name'), legs] }, textsOf);
    expect(show(next)[0]).toBe('OAK Oak on as supplied OAK -');
    expect(show(next)[2]).toBe('OAK-2 Oak on as supplied 2 OAK -');
  });

  it('lose their GTINs in one pass over the rows', () => {
    const rows = draft.rows.map((row) => ({ ...row, gtin: '4006381333931' }));
    const next = clearCells({ ...draft, rows }, { keys: keys(1, 3), columns: [column('gtin')] }, textsOf);
    expect(next.rows.map((row) => 'gtin' in row)).toEqual([true, false, true, false]);
  });

  it('are checked once for each row, with all that is replaced in it', () => {
    const both = makeDraft('A Ann OAK OAK', 'B Bob ASH OAK', 'C Cy INK INK');
    const uses = listUses(both, { keys: both.rows.map(({ key }) => key), columns: COLUMNS }, 'OAK');
    const seen: string[] = [];
    const broken = countBroken(both, uses, 'TEAK', ({ seat: on, legs: below }) => {
      seen.push(`${on} ${below}`);
      return on === below;
    });
    expect([broken, seen]).toEqual([1, ['TEAK TEAK', 'ASH TEAK']]);
  });

  it('have one finish replaced by another, after a list of what changes', () => {
    const cells = { keys: keys(0, 1, 2), columns: COLUMNS };
    expect(countFinishes(draft, cells)).toEqual([
      { finish: 'ASH', cells: 2 },
      { finish: 'OAK', cells: 2 },
      { finish: 'INK', cells: 1 },
    ]);
    const uses = listUses(draft, cells, 'ash');
    expect(uses.map(({ row, slot }) => `${row.code} ${slot}`)).toEqual(['B seat', 'C legs']);
    expect(show(replaceFinish(draft, uses, 'TEAK'))).toEqual([
      'A Ann OAK INK',
      'B Bob TEAK -',
      'C Cy OAK TEAK',
      'D Dee - -',
    ]);
  });

  it('are counted and found where they are empty, round the end, in both directions', () => {
    expect(countEmpty(draft.rows, ['seat', 'legs'])).toBe(3);
    const [at, last] = [COLUMNS.indexOf(seat), COLUMNS.indexOf(legs)];
    const first = nextEmpty(draft.rows, COLUMNS, { row: 0, column: 0 }, false)!;
    expect(first).toEqual({ row: 1, column: last });
    expect(nextEmpty(draft.rows, COLUMNS, { row: 3, column: last }, false)).toEqual(first);
    expect(nextEmpty(draft.rows, COLUMNS, first, true)).toEqual({ row: 3, column: last });
    expect(nextEmpty(draft.rows, COLUMNS, { row: 3, column: last }, true)).toEqual({ row: 3, column: at });
    expect(nextEmpty(draft.rows.slice(0, 1), COLUMNS, first, false)).toBeNull();
  });
});

describe('rows', () => {
  const arrange = (filters: [string, string[]][], order: { column: string; descending: boolean } | null = null) =>
    arrangeRows(draft.rows, COLUMNS, new Map(filters.map(([id, values]) => [id, new Set(values)])), order, read, named);

  it('are filtered by values of several columns, with counts under the other filters', () => {
    expect(arrange([['slot seat', ['oak']]])).toEqual(keys(0, 2));
    expect(
      arrange([
        ['slot seat', ['oak', '']],
        ['slot legs', ['']],
      ]),
    ).toEqual(keys(3));
    const filters = new Map([['slot seat', new Set(['oak'])]]);
    expect(countValues(draft.rows, COLUMNS, filters, legs, read)).toEqual([
      { value: 'ash', rows: 1 },
      { value: 'ink', rows: 1 },
    ]);
    expect(countValues(draft.rows, COLUMNS, filters, seat, read)[0]).toEqual({ value: 'oak', rows: 2 });
  });

  it('are sorted by what people read; empty cells come last', () => {
    expect(arrange([], { column: 'slot seat', descending: false })).toEqual(keys(1, 0, 2, 3));
    expect(arrange([], { column: 'slot seat', descending: true })).toEqual(keys(0, 2, 1, 3));
  });

  it('stay in place while they are edited; new ones follow the row before them', () => {
    const shown = arrange([['slot seat', ['oak']]]);
    const known = new Set(keys(0, 1, 2, 3));
    const [a, b, c, d] = draft.rows as [Row, Row, Row, Row];
    const copy = { ...c, key: 9 };
    expect(keepArrangement(shown, known, [{ ...a, choices: {} }, b, c, copy, d])).toEqual([a.key, c.key, 9]);
    expect(keepArrangement(shown, known, [copy, c])).toEqual([9, c.key]);
  });

  it('are searched in codes, names and finishes', () => {
    const hits = findCells(draft.rows, COLUMNS, 'INK blue', named);
    expect(hits).toEqual([{ row: 0, column: COLUMNS.indexOf(legs) }]);
    expect(nextPlace(hits, hits[0]!, false)).toBe(hits[0]);
    expect(findCells(draft.rows, COLUMNS, ' ', named)).toEqual([]);
  });
});

describe('pasting', () => {
  const all = (from: number, first: number) => ({ keys: keys(0, 1, 2, 3).slice(from), columns: COLUMNS.slice(first) });
  const one = (row: number, of: GridColumn) => ({ keys: keys(row), columns: [of] });
  const seatAt = COLUMNS.indexOf(seat);

  it('reads finishes by code or name in any case, and says which cells it could not read', () => {
    const table = [
      ['teak', 'INK  Blue'],
      ['Oak, smoked', ''],
    ];
    const {
      draft: next,
      changed,
      unread,
      added,
    } = pasteCells(draft, table, one(1, seat), all(1, seatAt), readFinish, false);
    expect(show(next).slice(1, 3)).toEqual(['B Bob TEAK INK', 'C Cy OAK -']);
    expect([changed, added]).toEqual([3, 0]);
    expect(unread).toEqual([{ row: 2, column: 'Seat', text: 'Oak, smoked' }]);
  });

  it('repeats a table over a selection that it fits into', () => {
    const cells = { keys: keys(0, 1, 2, 3), columns: [seat, legs] };
    const { draft: next } = pasteCells(draft, [['ASH']], cells, all(0, seatAt), readFinish, true);
    expect(show(next).every((row) => row.endsWith('ASH ASH'))).toBe(true);
  });

  it('adds rows after the last one, unless rows are hidden', () => {
    const table = [
      ['X', 'Ex'],
      ['Y', 'Why'],
    ];
    const from = all(3, 1);
    const { draft: next, added } = pasteCells(draft, table, one(3, column('code')), from, readFinish, true);
    expect(added).toBe(1);
    expect(show(next).slice(3)).toEqual(['X Ex - -', 'Y Why - -']);
    expect(pasteCells(draft, table, one(3, column('code')), from, readFinish, false).draft.rows).toHaveLength(4);
  });

  it('gives back what was copied', () => {
    const table = copyCells(draft.rows, COLUMNS, read);
    const cells = { keys: keys(0, 1, 2, 3), columns: COLUMNS };
    expect(pasteCells(draft, table, cells, cells, readFinish, true).changed).toBe(0);
  });
});

describe('codes and names', () => {
  const ruled = useTemplate(draft, new Set(keys(0, 1, 2)), textsOf, new Set(keys(0, 1, 2)));

  it('follow the choices while they are what the template gives, and stay different', () => {
    expect(show(ruled)[0]).toBe('OAK-INK Oak on Ink blue OAK INK');
    const same = setFinish(ruled, { keys: keys(0, 2), columns: [seat, legs] }, 'TEAK');
    expect(show(followChoices(ruled, same, textsOf))).toEqual([
      'TEAK-TEAK Teak on Teak TEAK TEAK',
      'ASH Ash on as supplied ASH -',
      'TEAK-TEAK-2 Teak on Teak 2 TEAK TEAK',
      'D Dee - -',
    ]);
  });

  it('stay where a person wrote them', () => {
    const written = setName(ruled, keys(0)[0]!, 'The long one');
    const changed = setFinish(written, { keys: keys(0), columns: [legs] }, 'ASH');
    expect(show(followChoices(written, changed, textsOf))[0]).toBe('OAK-ASH-2 The long one OAK ASH');
  });
});

describe('a finish', () => {
  it('is found by the beginning of its code or name first, then by any word, in any language', () => {
    const finishes = [
      { finish: 'N-1', name: 'Grey linen', article: 'linen' },
      { finish: 'N-2', name: 'Linen white', names: { de: 'Weiß' } },
      { finish: 'GREY', name: 'Stone' },
    ];
    const find = (text: string) => findFinishes(finishes, text).map(({ finish }) => finish);
    expect(find('grey')).toEqual(['N-1', 'GREY']);
    expect(find('linen')).toEqual(['N-2', 'N-1']);
    expect(find('white lin')).toEqual(['N-2']);
    expect(find('weiß')).toEqual(['N-2']);
    expect(find('')).toHaveLength(3);
  });

  it('of two with one name is the one that the slot may have', () => {
    const twins = [
      { finish: 'X1', name: 'Oak' },
      { finish: 'X2', name: 'Oak' },
    ];
    expect(makeFinishReader(twins, ['x2'])('oak')).toBe('X2');
    expect(makeFinishReader(twins, [])('OAK ')).toBe('X1');
    expect(makeFinishReader(twins, [])('elm')).toBeNull();
  });
});
