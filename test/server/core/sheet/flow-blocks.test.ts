import { expect, it } from 'vitest';
import { flowBlocks } from '../../../../server/core/sheet/flow-blocks.ts';

const block = (name: string, heightMm: number, keepWithNext = false) => ({ name, heightMm, keepWithNext });
const lay = (blocks: ReturnType<typeof block>[], heightMm: number, usedMm = 0) =>
  flowBlocks(blocks, heightMm, usedMm).map((page) => page.map(({ name, topMm }) => `${name}@${topMm}`));

it('fills a page to its last millimetre and goes on at the top of the next', () => {
  expect(lay([block('a', 60), block('b', 40), block('c', 1)], 100)).toEqual([['a@0', 'b@60'], ['c@0']]);
});

it('starts the first page under what it has given away', () => {
  expect(lay([block('a', 60), block('b', 40)], 100, 30)).toEqual([['a@30'], ['b@0']]);
  expect(lay([block('a', 80)], 100, 30)).toEqual([[], ['a@0']]);
});

it('never leaves a heading alone at the foot', () => {
  const blocks = [block('row', 70), block('article', 10, true), block('grade', 10, true), block('row2', 20)];
  expect(lay(blocks, 100)).toEqual([['row@0'], ['article@0', 'grade@10', 'row2@20']]);
});

it('gives a page to what is higher than one, and loses nothing', () => {
  expect(lay([block('a', 10), block('tall', 300), block('b', 10)], 100)).toEqual([['a@0'], ['tall@0'], ['b@0']]);
  expect(lay([], 100)).toEqual([[]]);
  expect(lay([block('last heading', 10, true)], 100)).toEqual([['last heading@0']]);
});
