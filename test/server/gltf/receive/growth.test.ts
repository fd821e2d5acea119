import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openModel } from '../../../../server/gltf/receive/open-model.ts';
import { surveyModel } from '../../../../server/gltf/survey/survey-model.ts';
import { validateModel } from '../../../../server/gltf/validate/run-validator.ts';
import { countWork, listGrown } from '../../../support/count-work.ts';
import { readGlb } from '../../../support/glb.ts';
import { GROWING_MODELS } from '../../../support/hostile-models.ts';

let folder: string;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'dyeworks-growth-'));
});
afterAll(() => rm(folder, { recursive: true, force: true }));

async function receive(bytes: Buffer): Promise<void> {
  const path = join(folder, 'model.glb');
  await writeFile(path, bytes);
  const { container } = await openModel(path, 'model/gltf-binary', `${path}.packed`);
  await surveyModel(container, readGlb(bytes).bin, await validateModel(bytes, container.json));
}

// A third size keeps an algorithm of n log n apart from one of n²: 3.5 times the work against 9 times.
const [SMALL, LARGE] = [1000, 3000] as const;
const FACTOR = 5;

describe('the work of receiving a model grows with its file, and not faster', () => {
  it.each(Object.entries(GROWING_MODELS))('%s', async (_, make) => {
    await receive(make(10));
    const files = ['/server/gltf/', '/server/core/', '/server/images/', '/gltf-validator/'];
    const small = await countWork(files, () => receive(make(SMALL)));
    const large = await countWork(files, () => receive(make(LARGE)));
    expect(listGrown(small, large, FACTOR)).toEqual([]);
  });
});
