import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, expect, it } from 'vitest';
import { Problem } from '../../../../server/core/problems.ts';
import { createModels } from '../../../../server/gltf/create-models.ts';
import { BOMBS } from '../../../support/hostile-models.ts';

// With so little memory, a file that makes one large list ends its thread, and the answer is another one.
const models = createModels(undefined, { threads: 2, heapMb: 256, timeoutMs: 120_000 });
const folder = await mkdtemp(join(tmpdir(), 'dyeworks-bombs-'));
afterAll(async () => {
  await models.close();
  await rm(folder, { recursive: true, force: true });
});

const EXPECTED: Readonly<Record<string, string>> = {
  'indices of billions in a buffer of bytes': 'model-broken-reference',
  'positions of billions in a buffer without bytes': 'model-too-complex',
  'zeros of billions by sparse accessors': 'model-too-complex',
  'a view that meshopt unpacks to terabytes': 'model-too-complex',
  'a mesh drawn by instances of billions': 'model-too-complex',
  'a scene of a million draws': 'model-too-complex',
  'a PNG of billions of pixels': 'image-too-large',
  'a PNG of the largest size, without its pixels': 'read',
  'a KTX2 of billions of pixels': 'image-too-large',
  'extras nested 10,000 deep': 'model-too-complex',
  'brackets nested a million deep': 'model-too-complex',
};

it.each(Object.entries(BOMBS))('%s', async (name, make) => {
  const path = join(folder, 'bomb.glb');
  await writeFile(path, make());
  const before = process.memoryUsage().rss;
  const end = await models.survey(path, 'model/gltf-binary').then(
    () => 'read',
    (error: unknown) => {
      if (!(error instanceof Problem)) throw error;
      // a limit that was checked has no cause; a thread that ended is one
      expect(error.more.cause).toBeUndefined();
      return error.code;
    },
  );
  expect(end).toBe(EXPECTED[name]);
  expect((process.memoryUsage().rss - before) / 1024 / 1024).toBeLessThan(700);
});
