import type { MeshScale, Survey } from '../../../core/product/survey.ts';
import { DRACO, describeNodes, type GltfJson, MESHOPT, type PrimitiveJson } from '../../document/json.ts';
import type { LoadedModel } from '../../document/read-accessor.ts';
import { type Matrix, meanScale, type SceneNode } from '../../document/world-matrices.ts';
import { listSkinMatrices } from '../../geometry/place-vertices.ts';

/** Smaller deviations of a matrix are float noise of a modelling package. */
const NOISE = 1e-4;
/** Axes whose scales differ by less than this share count as evenly scaled. */
const UNEVEN = 1e-3;
const FLOAT = 5126;

/** Lists the mesh nodes of the scene whose world transforms do more than shift. */
export function measureTransforms(
  json: GltfJson,
  nodes: readonly { readonly node: number; readonly matrix: Matrix }[],
): Survey['transforms'] {
  const unbaked: number[] = [];
  const negative: number[] = [];
  const uneven: number[] = [];
  for (const { node, matrix } of nodes) {
    const { mesh, skin } = json.nodes![node]!;
    // the transform of a skinned node does not apply
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

/** Whether scale and shift of a node may only decode the positions of its mesh (`KHR_mesh_quantization`). */
function isQuantised(json: GltfJson, mesh: number): boolean {
  return json.meshes![mesh]!.primitives.every(({ attributes, extensions }) => {
    const accessor = json.accessors?.[attributes.POSITION ?? -1];
    if (!accessor) return false;
    const view = json.bufferViews?.[accessor.bufferView ?? -1];
    const packed = MESHOPT.some((name) => view?.extensions?.[name]) || extensions?.[DRACO] !== undefined;
    return accessor.componentType !== FLOAT || packed;
  });
}

/** Digits of a scale; more are noise of a chain of single-precision transforms. */
const DIGITS = 5;

/**
 * The size of one unit of a mesh under the nodes that draw a primitive, in metres: smallest and largest. For a skinned
 * primitive, its joints determine the size, and not the transform of its node.
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
