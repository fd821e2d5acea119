import type { Damage } from '../../core/product/survey.ts';
import { type Container, readContainer } from '../document/container.ts';
import { mendJson } from './mend-json.ts';

/** A model as everything here works with it: its JSON mended, and what was mended. The file itself stays as it is. */
export interface Model extends Container {
  readonly damages: readonly Damage[];
}

/**
 * The one door by which a stored model is read.
 * @throws Problem as `readContainer`
 */
export async function readModel(path: string): Promise<Model> {
  const container = await readContainer(path);
  return { ...container, ...mendJson(container.json) };
}
