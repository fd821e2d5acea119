import { expect, it } from 'vitest';
import { listDifferences } from '../../../../server/core/history/compare-values.ts';

it('names a field inside another by both, and leaves out the side where it was not there', () => {
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

it('shows what comes and goes as a whole part by part', () => {
  expect(listDifferences({}, { maps: { colour: 'a', normal: 'b' } })).toEqual([
    { field: 'maps.colour', after: 'a' },
    { field: 'maps.normal', after: 'b' },
  ]);
});

it('shows a colour whole, whatever way it is stated, and lists as one value', () => {
  const lab = { lab: [38, -8, -15], illuminant: 'D65', observer: '2deg' };
  expect(listDifferences({ colour: { hex: '#2f5d73' }, tags: ['a'] }, { colour: lab, tags: ['a', 'b'] })).toEqual([
    { field: 'colour', before: { hex: '#2f5d73' }, after: lab },
    { field: 'tags', before: ['a'], after: ['a', 'b'] },
  ]);
});

it('tells null, which takes off what the article has, from nothing said', () => {
  const sheen = { colour: '#ffffff', roughness: 0.5 };
  expect(listDifferences({ sheen }, { sheen: null })).toEqual([{ field: 'sheen', before: sheen, after: null }]);
  expect(listDifferences({}, { sheen: null })).toEqual([{ field: 'sheen', after: null }]);
});

it('does not mind in which order fields are written', () => {
  expect(listDifferences({ a: 1, b: { c: 1, d: 2 } }, { b: { d: 2, c: 1 }, a: 1 })).toEqual([]);
});
