import type { MeshScale, Survey } from '../../../core/product/survey.ts';
import { DRACO, describeNodes, type GltfJson, MESHOPT, type PrimitiveJson } from '../../document/json.ts';
import type { LoadedModel } from '../../document/read-accessor.ts';
import { type Matrix, meanScale, type SceneNode } from '../../document/world-matrices.ts';
import { listSkinMatrices } from '../../geometry/place-vertices.ts';

/** Below this a matrix only carries float noise of a modelling package. */
const NOISE = 1e-4;
/** Axes that differ by less than a thousandth are scaled evenly. */
const UNEVEN = 1e-3;
const FLOAT = 5126;

/** What the world transforms of the scene's mesh nodes do beside shifting. */
export function measureTransforms(
  json: GltfJson,
  nodes: readonly { readonly node: number; readonly matrix: Matrix }[],
): Survey['transforms'] {
  const unbaked: number[] = [];
  const negative: number[] = [];
  const uneven: number[] = [];
  for (const { node, matrix } of nodes) {
    const { mesh, skin } = json.nodes![node]!;
    // a skin places its vertices whatever the node's own transform says
    if (mesh === undefined || skin !== undefined) continue;
    const [a, b, c, d, e, f, g, h, i] = [0, 1, 2, 4, 5, 6, 8, 9, 10].map((at) => matrix[at]!) as [
      number,
      number,
      number,
      number,
      number,
      number,
      number,
      number,
      number,
    ];
    const turned = [b, c, d, f, g, h].some(
      (value) => Math.abs(value) > NOISE * Math.max(Math.abs(a), Math.abs(e), Math.abs(i)),
    );
    const scaled = [a, e, i].some((value) => Math.abs(value - 1) > NOISE);
    if ((turned || scaled) && (turned || !isQuantised(json, mesh))) unbaked.push(node);
    if (a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g) < 0) negative.push(node);
    const lengths = [Math.hypot(a, b, c), Math.hypot(d, e, f), Math.hypot(g, h, i)];
    if (Math.max(...lengths) - Math.min(...lengths) > UNEVEN * Math.max(...lengths)) uneven.push(node);
  }
  return {
    unbaked: describeNodes(json, unbaked),
    negative: describeNodes(json, negative),
    uneven: describeNodes(json, uneven),
  };
}

/** Whether a node's scale and shift may only be what decodes the mesh's positions (`KHR_mesh_quantization`). */
function isQuantised(json: GltfJson, mesh: number): boolean {
  return json.meshes![mesh]!.primitives.every(({ attributes, extensions }) => {
    const accessor = json.accessors?.[attributes.POSITION ?? -1];
    if (!accessor) return false;
    const view = json.bufferViews?.[accessor.bufferView ?? -1];
    const packed = MESHOPT.some((name) => view?.extensions?.[name]) || extensions?.[DRACO] !== undefined;
    return accessor.componentType !== FLOAT || packed;
  });
}

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
