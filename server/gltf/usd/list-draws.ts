import type { GltfJson, PrimitiveJson } from '../document/json.ts';
import { type LoadedModel, readAccessor } from '../document/read-accessor.ts';
import { localMatrix, type Matrix, multiply, type SceneNode } from '../document/world-matrices.ts';

/** A primitive at one place of the scene. */
export interface Draw {
  readonly node: number;
  readonly mesh: number;
  readonly index: number;
  readonly primitive: PrimitiveJson;
  /** World matrix, that of the instance included. */
  readonly matrix: Matrix;
  readonly name: string;
}

/** Everything that the scene draws, in its order; a mesh of many instances as often as it is drawn. */
export function listDraws(model: LoadedModel, nodes: readonly SceneNode[]): Draw[] {
  const { json } = model;
  const draws: Draw[] = [];
  for (const { node, matrix } of nodes) {
    const { mesh, name } = json.nodes![node]!;
    if (mesh === undefined) continue;
    const { primitives, name: meshName } = json.meshes![mesh]!;
    for (const placed of listInstances(model, node, matrix)) {
      primitives.forEach((primitive, index) => {
        draws.push({ node, mesh, index, primitive, matrix: placed, name: String(name || meshName || '') });
      });
    }
  }
  return draws;
}

/** The places of a node's mesh: one, or those of `EXT_mesh_gpu_instancing`. */
function* listInstances(model: LoadedModel, node: number, matrix: Matrix): Generator<Matrix> {
  const attributes = instanceAttributes(model.json, node);
  if (!attributes) {
    yield matrix;
    return;
  }
  const read = (name: string) => {
    const accessor = attributes[name];
    return accessor === undefined ? null : readAccessor(model, accessor);
  };
  const [translation, rotation, scale] = ['TRANSLATION', 'ROTATION', 'SCALE'].map(read);
  const counts = Object.values(attributes).map((accessor) => model.json.accessors?.[accessor]?.count ?? 0);
  const at = (values: Float32Array | null | undefined, index: number, width: number) =>
    values ? [...values.subarray(index * width, (index + 1) * width)] : undefined;
  for (let index = 0; index < Math.min(...counts); index++) {
    const [t, r, s] = [at(translation, index, 3), at(rotation, index, 4), at(scale, index, 3)];
    yield multiply(
      matrix,
      localMatrix({ ...(t && { translation: t }), ...(r && { rotation: r }), ...(s && { scale: s }) }),
    );
  }
}

function instanceAttributes({ nodes }: GltfJson, node: number): Record<string, number> | null {
  const attributes = nodes![node]!.extensions?.EXT_mesh_gpu_instancing?.attributes as
    | Record<string, number>
    | undefined;
  return attributes && Object.keys(attributes).length > 0 ? attributes : null;
}
