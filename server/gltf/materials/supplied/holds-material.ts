import { Problem } from '../../../core/problems.ts';
import { readContainer } from '../../document/container.ts';

/** Whether a file is a GLB that holds one material and nothing to be drawn; only its JSON is read. */
export async function holdsMaterial(path: string): Promise<boolean> {
  try {
    const { json } = await readContainer(path);
    return json.materials?.length === 1 && !json.meshes && !json.nodes;
  } catch (error) {
    if (error instanceof Problem) return false;
    throw error;
  }
}
