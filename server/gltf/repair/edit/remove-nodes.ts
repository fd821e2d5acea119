import type { GltfJson } from '../../document/json.ts';
import { listParents } from '../../document/world-matrices.ts';
import { hasContent, listAnimated, listNodesElsewhere } from './scene-roles.ts';

/**
 * Removes emptied nodes from the scene, and their ancestors that held nothing else. Joints, animated nodes, and nodes with a
 * camera, a light or other content stay. Indices do not change: the writer drops the removed nodes.
 * @param accepted nodes whose extras and extensions may be lost
 * @returns how many nodes were removed
 */
export function removeNodes(json: GltfJson, emptied: ReadonlySet<number>, accepted = emptied): number {
  const held = listHeld(json);
  const parents = listParents(json);
  const gone = new Set<number>();
  const living = (json.nodes ?? []).map(({ children = [] }) => children.length);
  for (const start of emptied) {
    for (let node: number | undefined = start; node !== undefined; node = parents.get(node)) {
      if (gone.has(node) || living[node]! > 0 || held.has(node) || !isEmpty(json, node, accepted.has(node))) break;
      gone.add(node);
      const parent = parents.get(node);
      if (parent !== undefined) living[parent]!--;
    }
  }
  for (const node of json.nodes ?? []) drop(node, 'children', gone);
  for (const scene of json.scenes ?? []) drop(scene, 'nodes', gone);
  return gone.size;
}

/** glTF allows no empty lists, so the property is deleted with its last entry. */
function drop<K extends string>(holder: { [key in K]?: number[] }, key: K, gone: ReadonlySet<number>): void {
  const list = holder[key];
  if (!list?.some((node) => gone.has(node))) return;
  const left = list.filter((node) => !gone.has(node));
  if (left.length > 0) holder[key] = left as (typeof holder)[K];
  else delete holder[key];
}

/** @param accepted the user accepted the loss of its extras and extensions */
function isEmpty(json: GltfJson, index: number, accepted: boolean): boolean {
  const { mesh, camera, skin, extensions = {}, ...rest } = json.nodes![index]!;
  if (mesh !== undefined || camera !== undefined || skin !== undefined) return false;
  if (extensions.KHR_lights_punctual) return false;
  if (accepted) return true;
  const own = Object.keys(extensions).filter((name) => name !== 'KHR_node_visibility');
  return own.length === 0 && !hasContent((rest as { extras?: unknown }).extras);
}

/** Nodes to which animations, skins or other scenes refer. */
function listHeld(json: GltfJson): Set<number> {
  const held = new Set<number>([...listAnimated(json).nodes, ...listNodesElsewhere(json)]);
  for (const { joints = [], skeleton } of json.skins ?? []) {
    for (const joint of joints) held.add(joint);
    if (skeleton !== undefined) held.add(skeleton);
  }
  return held;
}
