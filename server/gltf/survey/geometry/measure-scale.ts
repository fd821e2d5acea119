import type { MeshScale } from '../../../core/product/survey.ts';
import type { PrimitiveJson } from '../../document/json.ts';
import type { LoadedModel } from '../../document/read-accessor.ts';
import { type Matrix, meanScale, type SceneNode } from '../../document/world-matrices.ts';
import { listSkinMatrices } from '../../geometry/place-vertices.ts';

/** Digits a scale is told by: what a chain of single-precision transforms leaves of one does not make it another. */
const DIGITS = 5;

/**
 * How large the nodes that draw a primitive make one unit of its mesh. What is skinned stands where its joints have it,
 * whatever its node's own transform says.
 * @param users nodes that draw the mesh
 * @param worlds world matrices of the scene's nodes
 */
export function measureScale(
  model: LoadedModel,
  primitive: PrimitiveJson,
  users: readonly SceneNode[],
  worlds: ReadonlyMap<number, Matrix>,
): MeshScale | null {
  const isSkinned = primitive.attributes.JOINTS_0 !== undefined && primitive.attributes.WEIGHTS_0 !== undefined;
  let [low, high] = [Infinity, 0];
  for (const { node, matrix } of users) {
    for (const one of (isSkinned && listSkinMatrices(model, node, worlds)) || [matrix]) {
      const scale = Number(meanScale(one).toPrecision(DIGITS));
      if (!(scale > 0 && scale < Infinity)) continue;
      low = Math.min(low, scale);
      high = Math.max(high, scale);
    }
  }
  return high > 0 ? { low, high } : null;
}
