import type { GltfJson, NodeJson } from '../../document/json.ts';
import { listParents } from '../../document/world-matrices.ts';
import type { BakedNode } from '../operations/plan-bake.ts';
import { removeNodes } from './remove-nodes.ts';

type WeightedNode = NodeJson & { weights?: number[] };

/**
 * Makes nodes roots of the scene, under no transform. What else hangs on such a node, or is on it and stands by its
 * transform (a camera, a light, a joint), keeps the old node, and the mesh gets a new one. Nodes above that only held
 * what was raised go.
 * @param raised parents before children
 * @returns how many nodes went
 */
export function raiseNodes(json: GltfJson, raised: readonly BakedNode[]): number {
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
