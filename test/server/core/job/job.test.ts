import { expect, it } from 'vitest';
import {
  addPart,
  countLeading,
  countParts,
  countPictures,
  findOpenPart,
  findPart,
  hasPart,
  listArrived,
  type PartRanges,
  PICTURES_DEFAULT,
  type PicturesRequest,
  readPicturesRequest,
} from '../../../../server/core/job/job.ts';
import { createRandom } from '../../../support/random.ts';

it('agrees with a set, whatever the order of the parts, in as few ranges as there are runs', () => {
  const random = createRandom(7);
  for (let round = 0; round < 50; round++) {
    let ranges: PartRanges = [];
    const set = new Set<number>();
    for (let i = 0; i < 60; i++) {
      const part = random.whole(50);
      ranges = addPart(ranges, part);
      set.add(part);
    }
    const all = Array.from({ length: 52 }, (_, part) => part);
    expect(all.filter((part) => hasPart(ranges, part))).toEqual([...set].sort((a, b) => a - b));
    expect(countParts(ranges)).toBe(set.size);
    expect(countLeading(ranges)).toBe(all.find((part) => !set.has(part)));
    expect(ranges).toHaveLength(all.filter((part) => set.has(part) && !set.has(part - 1)).length);
    for (const start of all)
      expect(findOpenPart(ranges, start)).toBe(all.find((part) => part >= start && !set.has(part)) ?? 52);
  }
});

it('does not change the ranges for a part that is already in them', () => {
  const ranges: PartRanges = [[2, 5]];
  expect(addPart(ranges, 3)).toBe(ranges);
  expect(countLeading(ranges)).toBe(0);
});

const request: PicturesRequest = {
  ...PICTURES_DEFAULT,
  of: [
    { product: 'STOOL', variants: ['S1', 'S2', 'S3'] },
    { product: 'BARE', variants: [] },
    { product: 'LAMP', rows: [{ code: 'V-1', choices: { shade: 'RED' } }] },
  ],
  sizes: [512, 64],
  formats: ['png', 'jpg'],
  views: ['front', 'side'],
};

it('makes every combination once, product by product and then view by view', () => {
  const total = countPictures(request);
  expect(total).toBe(4 * 2 * 2 * 2);
  const parts = Array.from({ length: total }, (_, part) => findPart(request, part)!);
  const said = parts.map(({ product, variant, view, sizePx, format }) =>
    [product, variant, view, sizePx, format].join(),
  );
  expect(new Set(said).size).toBe(total);
  const runs = parts.map(({ product, view }) => `${product} ${view}`).filter((run, i, all) => run !== all[i - 1]);
  expect(runs).toEqual(['STOOL front', 'STOOL side', 'LAMP front', 'LAMP side']);
  expect(parts[0]).toEqual({
    product: 'STOOL',
    variant: 'S1',
    choices: null,
    view: 'front',
    sizePx: 512,
    format: 'png',
  });
  expect(parts.at(-1)).toMatchObject({ product: 'LAMP', variant: 'V-1', choices: { shade: 'RED' }, sizePx: 64 });
  expect(findPart(request, total)).toBeNull();
});

it('reads a job from the time when a job had one product', () => {
  const old = { variants: ['A', 'B'], sizes: [512], formats: ['webp'], views: ['front'] };
  const read = readPicturesRequest({ product: 'OLD', request: old });
  expect(countPictures(read)).toBe(2);
  expect(findPart(read, 1)).toEqual({
    product: 'OLD',
    variant: 'B',
    choices: null,
    view: 'front',
    sizePx: 512,
    format: 'webp',
  });
  expect([read.ground, read.shadow]).toEqual(['transparent', 'with']);
});

it('lists finished pictures in order, up to the first unfinished one, without failed ones', () => {
  const job = {
    kind: 'pictures',
    product: null,
    request,
    finished: [
      [0, 5],
      [6, 8],
    ],
    failedParts: [[1, 2]],
  } as const;
  const first = listArrived(job, 0, 2);
  expect(first.pictures.map(({ part }) => part)).toEqual([0, 2]);
  expect(first.next).toBe(3);
  const rest = listArrived(job, first.next, 100);
  expect(rest.pictures.map(({ part }) => part)).toEqual([3, 4]);
  expect(listArrived(job, rest.next, 100)).toEqual({ pictures: [], next: 5 });
});
