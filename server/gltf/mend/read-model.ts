import type { Damage } from '../../core/product/survey.ts';
import { type Container, readContainer } from '../document/container.ts';
import { mendJson } from './mend-json.ts';

/** A model with its JSON corrected, and the corrections. The file stays as it is. */
export interface Model extends Container {
  readonly damages: readonly Damage[];
}

/**
 * Reads a stored model. All code reads models here, so that all of it sees the same corrections.
 * @throws Problem as `readContainer`
 */
export async function readModel(path: string): Promise<Model> {
  const container = await readContainer(path);
  return { ...container, ...mendJson(container.json) };
}
