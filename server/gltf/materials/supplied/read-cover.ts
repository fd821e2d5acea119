import type { SuppliedCover } from '../../../core/picture/plan-layers.ts';
import { readModel } from '../../mend/read-model.ts';

const SEE_THROUGH = ['KHR_materials_transmission', 'KHR_materials_volume', 'KHR_materials_diffuse_transmission'];

/** How the one material of a GLB covers and passes light; only its JSON is read. */
export async function readCover(path: string): Promise<SuppliedCover> {
  const { json } = await readModel(path);
  const { alphaMode, doubleSided = false, extensions = {} } = json.materials?.[0] ?? {};
  return {
    alphaMode: alphaMode === 'MASK' || alphaMode === 'BLEND' ? alphaMode : 'OPAQUE',
    doubleSided,
    transmits: SEE_THROUGH.some((name) => Object.hasOwn(extensions, name)),
  };
}
