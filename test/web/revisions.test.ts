import { expect, it } from 'vitest';
import type { FinishRevisionAnswer } from '../../server/http/contracts/finish-history.ts';
import { describeDifference, describeEvent, describeOrigin, listRows } from '../../web/pages/finishes/revisions.tsx';

const revision = (number: number, rest: Partial<FinishRevisionAnswer> = {}): FinishRevisionAnswer => ({
  revision: number,
  how: 'saved',
  at: null,
  person: null,
  starts: false,
  changes: [],
  hex: '#2f5d73',
  ...rest,
});

it('lists an event after the revision it concerns', () => {
  const event = { what: 'deleted', revision: 1, at: null, person: null } as const;
  const rows = listRows({ revisions: [revision(2), revision(1)], events: [event] });
  expect(rows.map(({ kind }) => kind)).toEqual(['revision', 'event', 'revision']);
});

it('describes a change with its previous value, and names no file', () => {
  expect(describeDifference({ field: 'name', before: 'Tarn', after: 'Tarn blue' })).toBe('name: Tarn → Tarn blue');
  expect(describeDifference({ field: 'gloss.gu60', after: 35 })).toBe('gloss at 60°: 35 (added)');
  expect(describeDifference({ field: 'note', before: 'old' })).toBe('note: removed, was old');
  expect(describeDifference({ field: 'sheen', before: { colour: '#ffffff', roughness: 0.5 }, after: null })).toBe(
    'sheen: colour #ffffff, roughness 0.5 → none',
  );
  expect(describeDifference({ field: 'tags', before: [], after: ['warm', 'new'] })).toBe('tags: none → warm, new');
  expect(
    describeDifference({
      field: 'colour',
      before: { hex: '#2f5d73' },
      after: { lab: [38.1, -8.2, -15.4], illuminant: 'D65', observer: '10deg' },
    }),
  ).toBe('colour: #2f5d73 → Lab 38.1 −8.2 −15.4, D65/10°');
  expect(describeDifference({ field: 'article.clearcoatRoughness', before: 0.1, after: 0.2 })).toBe(
    'clear coat roughness of the article: 0.1 → 0.2',
  );
  expect(describeDifference({ field: 'maps.colour', after: 'ab'.repeat(32) })).toBe('colour map: added');
});

it('describes the origin of a revision, and events', () => {
  expect(describeOrigin(revision(1, { starts: true }))).toBe('Saved, new finish');
  expect(describeOrigin(revision(7, { starts: true, how: 'known' }))).toBe('First recorded version');
  expect(describeOrigin(revision(2, { how: 'imported' }))).toBe('Imported from a file');
  const event = { revision: 1, at: null, person: null, what: 'discontinued', line: 'Fen' } as const;
  expect(describeEvent(event)).toBe('Discontinued in line Fen.');
  expect(describeEvent({ ...event, replacedBy: 'ASH' })).toBe('Discontinued in line Fen, replaced by ASH.');
});
