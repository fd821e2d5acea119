import type { SuppliedCover } from '../../../core/picture/plan-layers.ts';
import { Problem } from '../../../core/problems.ts';
import { readContainer } from '../../document/container.ts';
import { readModel } from '../../mend/read-model.ts';

/** Whether a file is a GLB of one material without meshes or nodes. Reads only its JSON. */
export async function holdsMaterial(path: string): Promise<boolean> {
  try {
    const { json } = await readContainer(path);
    return json.materials?.length === 1 && !json.meshes && !json.nodes;
  } catch (error) {
    if (error instanceof Problem) return false;
    throw error;
  }
}

const TRANSPARENT = ['KHR_materials_transmission', 'KHR_materials_volume', 'KHR_materials_diffuse_transmission'];

/** How the material of such a GLB covers what lies behind it, and whether light passes through. Reads only its JSON. */
export async function readCover(path: string): Promise<SuppliedCover> {
  const { json } = await readModel(path);
  const { alphaMode, doubleSided = false, extensions = {} } = json.materials?.[0] ?? {};
  return {
    alphaMode: alphaMode === 'MASK' || alphaMode === 'BLEND' ? alphaMode : 'OPAQUE',
    doubleSided,
    transmits: TRANSPARENT.some((name) => Object.hasOwn(extensions, name)),
  };
}
