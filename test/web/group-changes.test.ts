import { expect, it } from 'vitest';
import { groupChanges } from '../../web/pages/product/deliveries/group-changes.ts';

const change = (kind: string, variants: number, message: string, breaking?: true) =>
  ({ kind, variants, message, ...(breaking && { breaking }) }) as Parameters<typeof groupChanges>[0][number];

it('folds a long list of one kind behind a sentence that counts it, with what a list leaves out', () => {
  const added = ['A', 'B', 'C'].map((code) => change('variant-added', 1, `${code} is new.`));
  expect(groupChanges(added)).toHaveLength(3);
  const many = [...added, change('variant-added', 77, '77 more variants are new.')];
  expect(groupChanges(many)).toEqual([
    { message: '80 variants are new', breaking: false, folded: many.map(({ message }) => message) },
  ]);
});

it('puts what breaks a shop first, and folds no changes of finishes', () => {
  const recoloured = Array.from({ length: 5 }, (_, at) => change('finish-recoloured', 2, `Finish ${at}.`));
  const entries = groupChanges([...recoloured, change('variant-renamed', 1, 'A is named.', true)]);
  expect(entries.map(({ message }) => message)).toEqual(['A is named.', ...recoloured.map(({ message }) => message)]);
  expect(entries[0]!.breaking).toBe(true);
});
