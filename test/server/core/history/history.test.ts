import { expect, it } from 'vitest';
import {
  checkAuthor,
  describeHistory,
  type EventEntry,
  type RevisionEntry,
} from '../../../../server/core/history/history.ts';
import { expectRefusal } from '../../../support/refusal.ts';

const saved = (revision: number, name: string): RevisionEntry<{ name: string }> => ({
  what: 'saved',
  revision,
  at: '2031-01-01T00:00:00.000Z',
  person: null,
  definition: { name },
  articleRevision: null,
});
const event = (what: EventEntry['what'], revision: number): EventEntry => ({ what, revision, at: null, person: null });

it('compares each revision with the one before, newest first', () => {
  const { revisions } = describeHistory([saved(4, 'A'), saved(5, 'B')]);
  expect(revisions.map(({ entry, starts, changes }) => [entry.revision, starts, changes])).toEqual([
    [5, false, [{ field: 'name', before: 'A', after: 'B' }]],
    [4, true, []],
  ]);
});

it('does not compare across a deletion, but does across other events', () => {
  const { revisions, events } = describeHistory([
    saved(1, 'A'),
    event('discontinued', 1),
    saved(2, 'B'),
    event('deleted', 2),
    saved(3, 'C'),
  ]);
  expect(revisions.map(({ entry, starts }) => [entry.revision, starts])).toEqual([
    [3, true],
    [2, false],
    [1, true],
  ]);
  expect(revisions[0]!.before).toBeNull();
  expect(events.map(({ what, revision }) => [what, revision])).toEqual([
    ['deleted', 2],
    ['discontinued', 1],
  ]);
});

it('stores names in NFC, reads white space as no name, and refuses invalid names and notes', async () => {
  const where = { person: 'p', note: 'n' };
  expect(checkAuthor(' A\u030asa ', ' why ', where)).toEqual({ person: 'Åsa', note: 'why' });
  expect(checkAuthor('  ', '  ', where)).toEqual({ person: null });
  await expectRefusal(() => checkAuthor('a\u0007b', null, where), 'invalid-name');
  await expectRefusal(() => checkAuthor('a', 'x'.repeat(1001), where), 'invalid-field');
});
