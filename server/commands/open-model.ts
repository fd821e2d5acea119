import { copyFile, mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { extname, join } from 'node:path';
import { ConfigError } from '../config.ts';
import type { ModelMediaType, Models, Surveyed } from '../core/ports/models.ts';
import { createModels } from '../gltf/create-models.ts';
import { WORKERS } from '../root.ts';
import { FILE_TEXTS } from './texts.ts';

const TYPES: Readonly<Record<string, ModelMediaType>> = {
  '.glb': 'model/gltf-binary',
  '.gltf': 'model/gltf+json',
  '.zip': 'application/zip',
};

/** Surveys a model file and works on it. Afterwards it stops the threads and deletes the copy. */
export async function withModel(
  path: string,
  work: (source: Surveyed, models: Models) => Promise<number>,
): Promise<number> {
  const models = createModels(WORKERS.models);
  try {
    const source = await openModel(models, path);
    try {
      return await work(source, models);
    } finally {
      await source.close();
    }
  } finally {
    await models.close();
  }
}

/** @throws ConfigError for a file that is no model, by its name */
export function readMediaType(path: string): ModelMediaType {
  const mediaType = TYPES[extname(path).toLowerCase()];
  if (!mediaType) throw new ConfigError(FILE_TEXTS.wrongModelType(path));
  return mediaType;
}

/**
 * Surveys a copy of a model file, so that the file itself is never touched. `close` removes the copy.
 * @throws ConfigError when the file cannot be read
 */
export async function openModel(models: Models, path: string): Promise<Surveyed & { close(): Promise<void> }> {
  const mediaType = readMediaType(path);
  const folder = await mkdtemp(join(tmpdir(), 'dyeworks-'));
  const close = () => rm(folder, { recursive: true, force: true });
  try {
    const copy = join(folder, 'model');
    await copyFile(path, copy).catch((error: Error) => {
      throw new ConfigError(FILE_TEXTS.unreadable(path, error.message));
    });
    return { ...(await models.survey(copy, mediaType)), close };
  } catch (error) {
    await close();
    throw error;
  }
}
