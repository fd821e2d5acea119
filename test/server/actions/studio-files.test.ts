import { expect, it } from 'vitest';
import type { LoadedProduct } from '../../../server/actions/loaded-product.ts';
import { type KeptFiles, StudioFileCache } from '../../../server/actions/studio-files.ts';
import { makeSurvey } from '../../support/make-survey.ts';

/** A cache of files with the given sizes, by the digests of their models, and what was made and deleted. */
function openCache(kept: KeptFiles, bytes: Readonly<Record<string, number>>) {
  const made: string[] = [];
  const deleted: string[] = [];
  let count = 0;
  const ports = {
    files: {
      newTemporary: async () => `file ${count++}`,
      getPath: (sha256: string) => sha256,
      discard: async (path: string) => void deleted.push(path),
    },
    models: {
      write: async ({ sourcePath }: { sourcePath: string }) => {
        made.push(sourcePath);
        return { sha256: sourcePath, bytes: bytes[sourcePath], resultMaterials: [] };
      },
    },
  };
  const cache = new StudioFileCache(ports as never, kept);
  const use = (sha256: string, work: () => Promise<void> = async () => undefined) => {
    const survey = makeSurvey(['Seat'], [[{ material: 0 }]]);
    const finishes = { byCode: new Map() };
    const loaded = {
      product: { code: 'P' },
      model: { sha256, survey },
      slots: [],
      line: null,
      schedule: null,
      finishes,
    };
    return cache.use(loaded as unknown as LoadedProduct, {}, work);
  };
  return { made, deleted, use };
}

const PLENTY = { files: 100, bytes: 1e9, materials: 1e9 };

it('keeps files up to a number of bytes, and deletes the least recently used first', async () => {
  const { made, deleted, use } = openCache({ ...PLENTY, bytes: 100 }, { a: 40, b: 40, c: 40, d: 10 });
  for (const model of ['a', 'b', 'a', 'd']) await use(model);
  expect([made, deleted]).toEqual([['a', 'b', 'd'], []]);
  await use('c');
  expect(deleted).toEqual(['file 1']);
  await use('a');
  expect(made).toEqual(['a', 'b', 'd', 'c']);
});

it('keeps the last file, however large, and files that are in use', async () => {
  const { made, deleted, use } = openCache({ ...PLENTY, bytes: 100 }, { a: 500, b: 20 });
  await use('a', () => use('b'));
  // while a was in use, only b could go
  expect(deleted).toEqual(['file 1']);
  await use('a');
  expect(made).toEqual(['a', 'b']);
});

it('keeps no more than a number of files', async () => {
  const { deleted, use } = openCache({ ...PLENTY, files: 2 }, { a: 1, b: 1, c: 1 });
  for (const model of ['a', 'b', 'c']) await use(model);
  expect(deleted).toEqual(['file 0']);
});
