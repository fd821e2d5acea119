import { expect, it } from 'vitest';
import type { FinishRevisionAnswer } from '../../server/http/contracts/finish-history.ts';
import {
  describeDifference,
  describeEvent,
  describeWay,
  listRows,
} from '../../web/pages/finishes/describe-revision.ts';

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

it('puts what befell a finish after the revision it befell', () => {
  const event = { what: 'deleted', revision: 1, at: null, person: null } as const;
  const rows = listRows({ revisions: [revision(2), revision(1)], events: [event] });
  expect(rows.map(({ kind }) => kind)).toEqual(['revision', 'event', 'revision']);
});

it('says a change in words, with what was said before', () => {
  expect(describeDifference({ field: 'name', before: 'Tarn', after: 'Tarn blue' })).toBe('name: Tarn, now Tarn blue');
  expect(describeDifference({ field: 'gloss.gu60', after: 35 })).toBe('gloss at 60°: 35, newly said');
  expect(describeDifference({ field: 'note', before: 'old' })).toBe('note: no longer said, was old');
  expect(describeDifference({ field: 'sheen', before: { colour: '#ffffff', roughness: 0.5 }, after: null })).toBe(
    'sheen: colour #ffffff, roughness 0.5, now none',
  );
  expect(describeDifference({ field: 'tags', before: [], after: ['warm', 'new'] })).toBe('tags: none, now warm, new');
  expect(
    describeDifference({
      field: 'colour',
      before: { hex: '#2f5d73' },
      after: { lab: [38.1, -8.2, -15.4], illuminant: 'D65', observer: '10deg' },
    }),
  ).toBe('colour: #2f5d73, now Lab 38.1 −8.2 −15.4, D65/10°');
  expect(describeDifference({ field: 'article.clearcoatRoughness', before: 0.1, after: 0.2 })).toBe(
    'clearcoat roughness of the article: 0.1, now 0.2',
  );
  expect(describeDifference({ field: 'maps.colour', after: 'ab'.repeat(32) })).toBe(
    'maps, colour: abababab, newly said',
  );
});

it('says how a revision came about, and what befell a finish', () => {
  expect(describeWay(revision(1, { starts: true }))).toBe('Written here, new under this code');
  expect(describeWay(revision(7, { starts: true, how: 'known' }))).toBe('As it stood when histories began');
  expect(describeWay(revision(2, { how: 'imported' }))).toBe('Imported from a file');
  const event = { revision: 1, at: null, person: null, what: 'discontinued', line: 'Fen' } as const;
  expect(describeEvent(event)).toBe('Line Fen sells it no more.');
  expect(describeEvent({ ...event, replacedBy: 'ASH' })).toBe('Line Fen sells it no more; ASH takes its place.');
});
