import { expect, it } from 'vitest';
import { listDifferences } from '../../../../server/core/history/compare-values.ts';

it('names a nested field by both names, and omits the side where it was missing', () => {
  const before = { name: 'Tarn', gloss: { gu60: 30 }, names: { de: 'Bergsee' }, tile: { widthMm: 300, heightMm: 200 } };
  const after = { name: 'Tarn blue', gloss: { gu60: 35, gu20: 8 }, names: { fr: 'Lac' }, tile: before.tile };
  expect(listDifferences(before, after)).toEqual([
    { field: 'gloss.gu20', after: 8 },
    { field: 'gloss.gu60', before: 30, after: 35 },
    { field: 'name', before: 'Tarn', after: 'Tarn blue' },
    { field: 'names.de', before: 'Bergsee' },
    { field: 'names.fr', after: 'Lac' },
  ]);
});

it('shows an object that appears or disappears field by field', () => {
  expect(listDifferences({}, { maps: { colour: 'a', normal: 'b' } })).toEqual([
    { field: 'maps.colour', after: 'a' },
    { field: 'maps.normal', after: 'b' },
  ]);
});

it('shows a colour as a whole in any form, and lists as one value', () => {
  const lab = { lab: [38, -8, -15], illuminant: 'D65', observer: '2deg' };
  expect(listDifferences({ colour: { hex: '#2f5d73' }, tags: ['a'] }, { colour: lab, tags: ['a', 'b'] })).toEqual([
    { field: 'colour', before: { hex: '#2f5d73' }, after: lab },
    { field: 'tags', before: ['a'], after: ['a', 'b'] },
  ]);
});

it('distinguishes null, which removes a value of the article, from a missing field', () => {
  const sheen = { colour: '#ffffff', roughness: 0.5 };
  expect(listDifferences({ sheen }, { sheen: null })).toEqual([{ field: 'sheen', before: sheen, after: null }]);
  expect(listDifferences({}, { sheen: null })).toEqual([{ field: 'sheen', after: null }]);
});

it('ignores the order of fields', () => {
  expect(listDifferences({ a: 1, b: { c: 1, d: 2 } }, { b: { d: 2, c: 1 }, a: 1 })).toEqual([]);
});
