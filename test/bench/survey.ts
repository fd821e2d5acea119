import { createReadStream } from 'node:fs';
import { readFile, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { NodeIO } from '@gltf-transform/core';
import { readWholeFile } from '../../server/gltf/document/container.ts';
import { listSceneNodes } from '../../server/gltf/document/world-matrices.ts';
import { findPieces } from '../../server/gltf/geometry/pieces/find-pieces.ts';
import { readModel } from '../../server/gltf/mend/read-model.ts';
import { surveyModel } from '../../server/gltf/survey/survey-model.ts';
import { validateModel } from '../../server/gltf/validate/run-validator.ts';
import { startService } from '../support/start-service.ts';
import { writeBigModel } from './big-model.ts';
import { alternate, row, show, summarise } from './measure.ts';

const RUNS = 3;
/** Bytes of the bench's models for one triangle: half a vertex of 32 bytes, and three indices. */
const TRIANGLE_BYTES = 28;
const MEBI = 1024 * 1024;
const NO_VALIDATOR = { version: '', errors: 0, warnings: 0, infos: 0, hints: 0, messages: [] };

/** Surveying large models, file read included, beside the glTF library reading them; and the API meanwhile. */
export async function benchSurvey(folder: string): Promise<void> {
  const path = join(folder, 'survey.glb');
  await writeBigModel(path, 150, 6, 60, true);
  const { survey } = await readAndSurvey(path);
  console.log(
    `\nSurvey of a model of ${await sizeOf(path)}, ${survey.counts.primitives} parts, ${survey.counts.triangles} triangles`,
  );
  const times = await alternate(RUNS, { library: () => new NodeIO().read(path), survey: () => readAndSurvey(path) });
  row('glTF library, reading', show(times.library));
  row('survey, file read included', show(times.survey));
  row('  ÷ library', (times.survey.median / times.library.median).toFixed(2), 'aim ≤ 3');
  const file = await readFile(path);
  const { json } = await readModel(path);
  const start = performance.now();
  await validateModel(file, json);
  row('the validator, apart (textures: none in this model)', `${(performance.now() - start).toFixed(0)} ms`);

  await benchPieces(path);
  await benchGrowth(path);
  await writeBigModel(path, 150, 6, 60);
  await benchAnswers(path);
}

async function readAndSurvey(path: string) {
  const { container, bin } = await load(path);
  return surveyModel(container, bin, NO_VALIDATOR);
}

async function load(path: string) {
  const container = await readModel(path);
  const file = readWholeFile(path);
  const { offset, length } = container.bin!;
  return { container, bin: file.subarray(offset, offset + length) };
}

async function benchPieces(path: string): Promise<void> {
  await writeBigModel(path, (4e6 * TRIANGLE_BYTES) / MEBI, 6, 60);
  const { container, bin } = await load(path);
  const nodes = listSceneNodes(container.json);
  const { pieces } = await alternate(RUNS, {
    pieces: async () => findPieces({ json: container.json, bin, cache: new Map() }, nodes),
  });
  row('pieces of 4 million triangles', show(pieces), 'aim ≤ 2 s');
}

async function benchGrowth(path: string): Promise<void> {
  let first = 0;
  for (const millions of [0.5, 1, 2, 4, 8]) {
    await writeBigModel(path, (millions * 1e6 * TRIANGLE_BYTES) / MEBI, 6, 60);
    const { survey } = await alternate(RUNS, { survey: () => readAndSurvey(path) });
    const each = survey.median / millions;
    first ||= each;
    row(
      `survey of ${millions} million triangles`,
      show(survey),
      `${(each / first).toFixed(2)} × the first, by triangle`,
    );
  }
}

/** Answers of a service on two cores while it surveys, validator included, in its worker. */
async function benchAnswers(path: string): Promise<void> {
  const service = await startService({}, undefined, { engines: 'own' });
  try {
    await service.call('POST', '/api/products', { code: 'BIG', name: 'Big' });
    let surveying = true;
    const upload = fetch(`${service.url}/api/products/BIG/model`, {
      method: 'PUT',
      headers: { 'content-type': 'model/gltf-binary' },
      body: createReadStream(path) as unknown as BodyInit,
      duplex: 'half',
    } as RequestInit).finally(() => {
      surveying = false;
    });
    const samples: number[] = [];
    while (surveying) {
      const start = performance.now();
      await service.call('GET', '/api/products');
      samples.push(performance.now() - start);
    }
    const { status } = await upload;
    const { median, max } = summarise(samples);
    row(
      `answers meanwhile, ${samples.length} of them (upload ${status})`,
      `median ${median.toFixed(1)} ms, most ${max.toFixed(0)} ms`,
      'aim < 20 ms',
    );
  } finally {
    await service.close();
  }
}

const sizeOf = async (path: string) => `${((await stat(path)).size / MEBI).toFixed(0)} MB`;
