import { copyFile, mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { extname, join } from 'node:path';
import { ConfigError } from '../config.ts';
import type { ModelMediaType, Models, Surveyed } from '../core/ports/models.ts';

const TYPES: Readonly<Record<string, ModelMediaType>> = {
  '.glb': 'model/gltf-binary',
  '.gltf': 'model/gltf+json',
  '.zip': 'application/zip',
};

/**
 * Surveys a model file for a command, on a copy, so that the file itself is never touched.
 * `close` removes what was made.
 */
export async function openSource(models: Models, path: string): Promise<Surveyed & { close(): Promise<void> }> {
  const mediaType = TYPES[extname(path).toLowerCase()];
  if (!mediaType) throw new ConfigError(`${path} is no .glb, .gltf or .zip.`);
  const folder = await mkdtemp(join(tmpdir(), 'dyeworks-'));
  const close = () => rm(folder, { recursive: true, force: true });
  try {
    const copy = join(folder, 'model');
    await copyFile(path, copy).catch((error: Error) => {
      throw new ConfigError(`${path} cannot be read: ${error.message}`);
    });
    return { ...(await models.survey(copy, mediaType)), close };
  } catch (error) {
    await close();
    throw error;
  }
}
