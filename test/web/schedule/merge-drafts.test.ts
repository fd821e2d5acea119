import { describe, expect, it } from 'vitest';
import { packDraft, unpackDraft } from '../../../web/pages/product/schedule/kept-drafts.ts';
import { mergeDrafts, settle } from '../../../web/pages/product/schedule/merge-drafts.ts';
import {
  addRow,
  type Draft,
  duplicateRows,
  fromSchedule,
  listChanges,
  moveRows,
  removeRows,
  setChoice,
  setDefault,
  setName,
  toSchedule,
} from '../../../web/pages/product/schedule/schedule-draft.ts';
import { makeDraft, show } from './make-draft.ts';

const base = makeDraft('A Ann OAK INK', 'B Bob ASH -', 'C Cy OAK ASH');
/** Their version as it comes from the service. */
const sent = (draft: Draft) => fromSchedule(toSchedule(draft), base);

describe('two versions of a schedule', () => {
  it('keep both sides where they changed different cells, also of one row', () => {
    const mine = setChoice(base, 1, 'seat', 'TEAK');
    const theirs = sent(setName(setChoice(base, 1, 'legs', 'OAK'), 2, 'Rob'));
    const { merged, clashes, taken } = mergeDrafts(base, mine, theirs);
    expect([clashes, taken]).toEqual([[], 2]);
    expect(show(merged)).toEqual(['A Ann TEAK OAK', 'B Rob ASH -', 'C Cy OAK ASH']);
    expect(listChanges(theirs, merged)).toMatchObject({ changed: 1, added: 0, removed: 0, reordered: false });
  });

  it('clash in single cells; each takes the side that is chosen', () => {
    const mine = setName(setChoice(base, 1, 'seat', 'TEAK'), 2, 'Mine');
    const theirs = sent(setName(setChoice(base, 1, 'seat', 'INK'), 2, 'Theirs'));
    const merge = mergeDrafts(base, mine, theirs);
    expect(merge.clashes).toEqual([
      { id: '1 slot seat', key: 1, field: { slot: 'seat' }, base: 'OAK', mine: 'TEAK', theirs: 'INK' },
      { id: '2 name', key: 2, field: 'name', base: 'Bob', mine: 'Mine', theirs: 'Theirs' },
    ]);
    expect(show(merge.merged).slice(0, 2)).toEqual(['A Ann TEAK INK', 'B Mine ASH -']);
    expect(show(settle(merge, new Set(['1 slot seat']))).slice(0, 2)).toEqual(['A Ann INK INK', 'B Mine ASH -']);
  });

  it('agree where both did the same', () => {
    const mine = setChoice(base, 1, 'seat', 'TEAK');
    expect(mergeDrafts(base, mine, sent(mine)).clashes).toEqual([]);
  });

  it('keep rows that either side added, in their places, and lose those that either removed', () => {
    const mine = removeRows(duplicateRows(base, new Set([1])), new Set([3]));
    const theirs = sent(addRow(base));
    const { merged, clashes } = mergeDrafts(base, mine, theirs);
    expect(clashes).toEqual([]);
    expect(merged.rows.map(({ code }) => code)).toEqual(['A', 'A-2', 'B', 'V04']);
    expect(new Set(merged.rows.map(({ key }) => key)).size).toBe(4);
  });

  it('clash over a row that one removed and the other changed', () => {
    const removed = mergeDrafts(base, removeRows(base, new Set([2])), sent(setName(base, 2, 'Rob')));
    expect(removed.clashes).toMatchObject([{ field: 'row', mine: null, theirs: 'Rob' }]);
    expect(show(removed.merged)).toHaveLength(2);
    expect(show(settle(removed, new Set(['2 row'])))).toContain('B Rob ASH -');
    const changed = mergeDrafts(base, setName(base, 2, 'Rob'), sent(removeRows(base, new Set([2]))));
    expect(show(changed.merged)).toContain('B Rob ASH -');
    expect(show(settle(changed, new Set(['2 row'])))).toHaveLength(2);
  });

  it('merge order, default and template like cells', () => {
    const template = { name: '{seat}' };
    const mine = moveRows(setDefault(base, 2), new Set([3]), -1);
    const theirs = sent({ ...addRow(base), template });
    const { merged, clashes } = mergeDrafts(base, mine, theirs);
    expect(clashes).toEqual([]);
    expect(merged.rows.map(({ code }) => code)).toEqual(['A', 'C', 'V04', 'B']);
    expect([merged.defaultKey, merged.template]).toEqual([2, template]);
    const both = mergeDrafts(base, setDefault(base, 2), sent(setDefault(base, 3)));
    expect(both.clashes).toMatchObject([{ field: 'default', mine: 'B', theirs: 'C' }]);
    expect(settle(both, new Set(['default'])).defaultKey).toBe(3);
  });

  it('take a step back alone, while later steps stay', () => {
    const first = setChoice(base, 1, 'seat', 'TEAK');
    const second = duplicateRows(setName(first, 2, 'Rob'), new Set([3]));
    const { merged, clashes } = mergeDrafts(first, base, second, true);
    expect(clashes).toEqual([]);
    expect(show(merged)).toEqual([
      'A Ann OAK INK',
      'B Rob ASH -',
      'C Cy OAK ASH',
      'C-2 Cy2 OAK ASH'.replace('Cy2', 'Cy 2'),
    ]);
    expect(merged.rows.map(({ key }) => key)).toEqual(second.rows.map(({ key }) => key));
  });
});

describe('a draft that the browser keeps', () => {
  it('comes back as it was, with the version that it began as', () => {
    const draft = { ...moveRows(duplicateRows(setName(base, 2, 'Rob'), new Set([1])), new Set([3]), -1), template: {} };
    const kept = { tag: '"1"', base, draft };
    const packed = packDraft(kept);
    expect(packed.rows.filter((row) => typeof row === 'number')).toHaveLength(2);
    expect(unpackDraft(JSON.parse(JSON.stringify(packed)))).toEqual(kept);
    expect(unpackDraft({} as never)).toBeNull();
  });
});
