import { getModelMediaType } from '../api.ts';
import { commonTexts } from '../texts/common.ts';
import type { DroppedFile } from './dropped-files.ts';
import { planPackage } from './plan-package.ts';

const texts = commonTexts.drop;

/** A `.gltf` with its geometry inside can be as large as a model; a larger one fits in no browser. */
const MOST_GLTF_BYTES = 256 * 1024 * 1024;

/**
 * Makes one model file of what was dropped: a model in one file as it is, and a `.gltf` with its files as a zip.
 * @throws Error with a message for the user
 */
export async function packModel(given: readonly DroppedFile[]): Promise<File> {
  const [first, second] = given;
  if (!first) throw new Error(texts.empty);
  const gltf = given.filter(({ path }) => /\.gltf$/i.test(path));
  const [own] = gltf;
  if (!own) {
    const models = given.filter(({ path }) => getModelMediaType(path));
    if (models.length > 1) throw new Error(texts.severalModels(models.map(({ path }) => path)));
    const only = models[0] ?? first;
    if (!models[0] && second) throw new Error(texts.noModel);
    return only.file;
  }
  if (gltf.length > 1) throw new Error(texts.severalModels(gltf.map(({ path }) => path)));
  if (own.file.size > MOST_GLTF_BYTES) return own.file;
  const plan = planPackage(await readJson(own.file), own, given);
  if ('missing' in plan) throw new Error(texts.missing(own.file.name, plan.missing));
  if (plan.files.length === 1) return own.file;
  const { zipFiles } = await import('./zip-files.ts');
  const zip = await zipFiles(plan.files.map((file) => ({ path: file.path, file: file.given.file })));
  return new File([zip], own.file.name.replace(/\.gltf$/i, '.zip'), { type: 'application/zip' });
}

async function readJson(file: File): Promise<unknown> {
  try {
    return JSON.parse(await file.text());
  } catch {
    // the service says what is wrong with it
    return null;
  }
}
