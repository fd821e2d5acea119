import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Document } from '@gltf-transform/core';
import type { Piece, Survey } from '../../server/core/product/survey.ts';
import { readModel } from '../../server/gltf/mend/read-model.ts';
import { surveyModel } from '../../server/gltf/survey/survey-model.ts';
import { readGlb } from './glb.ts';
import { createIo } from './gltf-io.ts';

const NO_VALIDATOR = { version: '', errors: 0, warnings: 0, infos: 0, hints: 0, messages: [] };

/** Surveys a model in memory, in this thread and without the validator. */
export async function surveyBytes(
  bytes: Uint8Array,
): Promise<{ readonly survey: Survey; readonly pieces: readonly Piece[] }> {
  const folder = await mkdtemp(join(tmpdir(), 'dyeworks-survey-'));
  try {
    const path = join(folder, 'model.glb');
    await writeFile(path, bytes);
    return await surveyModel(await readModel(path), readGlb(bytes).bin as Buffer | null, NO_VALIDATOR);
  } finally {
    await rm(folder, { recursive: true, force: true });
  }
}

export async function surveyDocument(document: Document) {
  return surveyBytes(await (await createIo()).writeBinary(document));
}
