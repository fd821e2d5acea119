import { expect, it } from 'vitest';
import { flowBlocks } from '../../../../server/core/sheet/page.ts';

const block = (name: string, heightMm: number) => ({ name, heightMm });
const lay = (blocks: ReturnType<typeof block>[], heightMm: number, usedMm = 0) =>
  flowBlocks(blocks, heightMm, usedMm).map((page) => page.map(({ name, topMm }) => `${name}@${topMm}`));

it('fills a page to its last millimetre and continues at the top of the next', () => {
  expect(lay([block('a', 60), block('b', 40), block('c', 1)], 100)).toEqual([['a@0', 'b@60'], ['c@0']]);
});

it('starts the first page below its used height', () => {
  expect(lay([block('a', 60), block('b', 40)], 100, 30)).toEqual([['a@30'], ['b@0']]);
  expect(lay([block('a', 80)], 100, 30)).toEqual([[], ['a@0']]);
});

it('never leaves one block alone on the last page where the page before can spare one', () => {
  const rows = (heights: number[]) => heights.map((height, i) => block(String(i), height));
  expect(lay(rows([30, 30, 30, 30]), 100)).toEqual([
    ['0@0', '1@30'],
    ['2@0', '3@30'],
  ]);
  // moved from the first page, below its used height
  expect(lay(rows([20, 20, 20, 20]), 100, 40)).toEqual([
    ['0@40', '1@60'],
    ['2@0', '3@20'],
  ]);
  // with two, the page before would keep only one; a pair that is too high for a page stays apart
  expect(lay(rows([45, 45, 45]), 100)).toEqual([['0@0', '1@45'], ['2@0']]);
  expect(lay(rows([20, 20, 50, 60]), 100)).toEqual([['0@0', '1@20', '2@40'], ['3@0']]);
  expect(lay(rows([10]), 100)).toEqual([['0@0']]);
});

it('gives a page of its own to a block higher than a page, and loses nothing', () => {
  expect(lay([block('a', 10), block('tall', 300), block('b', 10)], 100)).toEqual([['a@0'], ['tall@0'], ['b@0']]);
  expect(lay([], 100)).toEqual([[]]);
});
