import { count, formatNumber } from '../../../core/texts/format-text.ts';
import type { GltfJson, MeshJson, NodeJson } from '../../document/json.ts';
import { listParents } from '../../document/world-matrices.ts';
import { listUnknownExtensions } from '../edit/list-unknown-extensions.ts';
import type { ModelEdit } from '../edit/model-edit.ts';
import { removeNodes } from '../edit/remove-nodes.ts';
import { repackViews } from '../edit/repack-views.ts';
import { windsBackwards } from '../edit/transform-vertices.ts';
import { isCompressed, unpackGeometry } from '../edit/unpack-geometry.ts';
import { done, nothingToDo, type Repairer } from '../repairer.ts';
import { MeshBaker } from './bake-mesh.ts';
import {
  type BakedNode,
  type BakePlan,
  bakeThickness,
  listThicknessLosses,
  planBake,
  planThickness,
} from './plan-bake.ts';

/**
 * Bakes the world transforms of mesh nodes into their geometry: positions, normals, tangents, deltas of morph targets, and
 * the winding under a mirror. The nodes become roots without a transform, and shared meshes are copied. Nodes that are
 * skinned, instanced, hidden or animated stay as they are, so that no animation is lost.
 */
export const bakeTransforms: Repairer<'bake-transforms'> = {
  listLosses({ json }) {
    const { nodes } = planBake(json);
    const unknown = listUnknownExtensions(json, new Set(nodes.map(({ node }) => node)));
    return [...unknown, ...listThicknessLosses(json, planThickness(json, nodes))];
  },

  async apply(edit) {
    const { json } = edit;
    const plan = planBake(json, await edit.decode());
    if (plan.nodes.length === 0) return nothingToDo(`No part stands under a transform to bake.${tell(plan)}`);
    if (isCompressed(json, plan.nodes)) await unpackGeometry(edit);
    bakeThickness(json, planThickness(json, plan.nodes));
    const { vertices, copies } = bakeMeshes(edit, plan.nodes);
    repackViews(edit);
    const removed = raiseNodes(json, plan.nodes);
    const mirrored = plan.nodes.filter(({ matrix }) => matrix && windsBackwards(matrix)).length;
    const nodes = plan.nodes.length;
    const details = [
      `${formatNumber(vertices)} vertices moved`,
      mirrored > 0 ? `${count(mirrored, 'mirrored part')} turned the right way round` : '',
      copies > 0 ? `${count(copies, 'copy', 'copies')} of shared meshes made` : '',
      removed > 0 ? `${count(removed, 'empty node')} removed` : '',
    ].filter((detail) => detail !== '');
    return done(
      `${count(nodes, 'part')} ${nodes === 1 ? 'stands' : 'stand'} under no transform now: ${details.join(', ')}.${tell(plan)}`,
      { nodes, vertices, mirrored, meshesCopied: copies, nodesRemoved: removed },
    );
  },
};

function bakeMeshes(edit: ModelEdit, nodes: readonly BakedNode[]): { vertices: number; copies: number } {
  const { json } = edit;
  const baker = new MeshBaker(edit);
  const users = new Map<number, number>();
  for (const { mesh } of json.nodes!) if (mesh !== undefined) users.set(mesh, (users.get(mesh) ?? 0) + 1);
  let copies = 0;
  for (const { node, mesh, matrix } of nodes) {
    if (!matrix) continue;
    const source = json.meshes![mesh]!;
    const primitives = source.primitives.map((primitive) => baker.bake(primitive, matrix));
    // the last node that uses a mesh keeps it
    if (users.get(mesh) === 1) {
      source.primitives = primitives;
      continue;
    }
    users.set(mesh, users.get(mesh)! - 1);
    const copy: MeshJson = { ...structuredClone({ ...source, primitives: [] }), primitives };
    json.nodes![node]!.mesh = json.meshes!.push(copy) - 1;
    copies++;
  }
  return { vertices: baker.vertices, copies };
}

type WeightedNode = NodeJson & { weights?: number[] };

/**
 * Makes nodes roots of the scene without a transform. A node that has other children, a camera, a light or a joint stays
 * where it is, and its mesh moves to a new node. Ancestors that held nothing else are removed.
 * @param raised parents before children
 * @returns how many nodes were removed
 */
function raiseNodes(json: GltfJson, raised: readonly BakedNode[]): number {
  const parents = listParents(json);
  const joints = new Set((json.skins ?? []).flatMap(({ joints: own = [], skeleton }) => [...own, skeleton]));
  const leaving = new Set<number>();
  for (const { node } of [...raised].reverse()) {
    const { children = [], camera, extensions } = json.nodes![node]!;
    const holds = children.some((child) => !leaving.has(child));
    if (!holds && camera === undefined && !extensions?.KHR_lights_punctual && !joints.has(node)) leaving.add(node);
  }
  const roots = raised.map(({ node }) => {
    if (!leaving.has(node)) return addRoot(json, node);
    const own = json.nodes![node]!;
    for (const key of ['matrix', 'translation', 'rotation', 'scale', 'children'] as const) delete own[key];
    return node;
  });
  for (const node of json.nodes!) {
    if (!node.children?.some((child) => leaving.has(child))) continue;
    node.children = node.children.filter((child) => !leaving.has(child));
    if (node.children.length === 0) delete node.children;
  }
  const scene = json.scenes?.[json.scene ?? 0];
  if (scene) scene.nodes = [...new Set([...(scene.nodes ?? []), ...roots])];
  const above = new Set<number>();
  for (const { node } of raised) {
    let at = leaving.has(node) ? parents.get(node) : node;
    for (; at !== undefined && !above.has(at); at = parents.get(at)) above.add(at);
  }
  return removeNodes(json, new Set([...above].filter((node) => !leaving.has(node))), new Set());
}

function addRoot(json: GltfJson, index: number): number {
  const node = json.nodes![index]! as WeightedNode;
  const root: WeightedNode = { mesh: node.mesh! };
  if (node.name !== undefined) root.name = node.name;
  if (node.weights) root.weights = node.weights;
  delete node.mesh;
  delete node.weights;
  return json.nodes!.push(root) - 1;
}

function tell({ keptOut }: BakePlan): string {
  const reasons = [...keptOut].map(([reason, number]) => `${formatNumber(number)} ${reason}`);
  return reasons.length === 0 ? '' : ` Left as they are: ${reasons.join(', ')}.`;
}
