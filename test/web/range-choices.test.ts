import { expect, it } from 'vitest';
import { listChoices } from '../../web/pages/line/range/range-choices.ts';

const others = [
  { finish: 'A-1', name: 'One', family: 'textile', article: 'felt', tags: ['warm', 'warm'] },
  { finish: 'A-2', name: 'Two', family: 'textile', article: 'FELT', tags: ['cold'] },
  { finish: 'B-1', name: 'Three', family: 'powder-coat', tags: ['cold'] },
];
const articles = [{ article: 'Felt', name: 'Wool felt', family: 'textile' }] as const;

it('finishes are offered one by one, and by article, family or tag', () => {
  expect(listChoices('finish', others, articles).map(({ label }) => label)).toEqual([
    'One, A-1',
    'Two, A-2',
    'Three, B-1',
  ]);
  expect(listChoices('article', others, articles)).toEqual([
    { value: 'felt', label: 'Wool felt', finishes: ['A-1', 'A-2'] },
  ]);
  expect(listChoices('family', others, articles).map(({ label, finishes }) => [label, finishes.length])).toEqual([
    ['Powder coat', 1],
    ['Textile', 2],
  ]);
  expect(listChoices('tag', others, articles)).toEqual([
    { value: 'cold', label: 'cold', finishes: ['A-2', 'B-1'] },
    { value: 'warm', label: 'warm', finishes: ['A-1'] },
  ]);
  expect(listChoices('all', others, articles)[0]!.finishes).toHaveLength(3);
  expect(listChoices('all', [], articles)).toEqual([]);
});
