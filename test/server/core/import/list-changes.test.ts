import { expect, it } from 'vitest';
import type { StoredFinish } from '../../../../server/core/finish/finish.ts';
import { listChanges } from '../../../../server/core/import/list-changes.ts';
import { makeFinish } from '../../../support/make-finish.ts';

const before: StoredFinish = { ...makeFinish('P-1', { tags: ['warm'], gloss: { gu60: 30, gu20: 4 } }), revision: 2 };

it('lists nothing where only the order of what is written differs, and the revision', () => {
  const { revision: _, ...same } = before;
  expect(listChanges(before, { ...same, gloss: { gu20: 4, gu60: 30 } })).toEqual([]);
});

it('says before and after in words, null where nothing is said, and cuts what is long', () => {
  const { revision: _, gloss: _g, ...rest } = before;
  const changes = listChanges(before, { ...rest, tags: ['warm', 'outdoor'], note: 'n'.repeat(500) });
  expect(changes.map(({ field }) => field)).toEqual(['gloss', 'note', 'tags']);
  expect(changes[0]).toEqual({ field: 'gloss', before: 'gu60 30, gu20 4', after: null });
  expect(changes[1]!.before).toBeNull();
  expect(changes[1]!.after).toMatch(/^n{159}…$/);
  expect(changes[2]).toEqual({ field: 'tags', before: 'warm', after: 'warm, outdoor' });
});
