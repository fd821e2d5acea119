import type { GltfJson } from '../../document/json.ts';
import { listParents } from '../../document/world-matrices.ts';
import { hasContent, listAnimated, listNodesElsewhere } from './scene-roles.ts';

/**
 * Takes nodes that were emptied out of the scene, and above them those that only held them. Joints, animated nodes, and
 * nodes with a camera, a light or anything else of their own stay. Nodes keep their indices; the ones taken out are
 * left for the writer to drop.
 * @param accepted nodes whose extras and extensions may go with them
 * @returns how many went
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

/** Empty lists are not allowed, so the property goes with the last of them. */
function drop<K extends string>(holder: { [key in K]?: number[] }, key: K, gone: ReadonlySet<number>): void {
  const list = holder[key];
  if (!list?.some((node) => gone.has(node))) return;
  const left = list.filter((node) => !gone.has(node));
  if (left.length > 0) holder[key] = left as (typeof holder)[K];
  else delete holder[key];
}

/** `accepted`: its extras and extensions were asked about, and may go. */
function isEmpty(json: GltfJson, index: number, accepted: boolean): boolean {
  const { mesh, camera, skin, extensions = {}, ...rest } = json.nodes![index]!;
  if (mesh !== undefined || camera !== undefined || skin !== undefined) return false;
  if (extensions.KHR_lights_punctual) return false;
  if (accepted) return true;
  const own = Object.keys(extensions).filter((name) => name !== 'KHR_node_visibility');
  return own.length === 0 && !hasContent((rest as { extras?: unknown }).extras);
}

/** Nodes that something else than the scene's tree refers to. */
function listHeld(json: GltfJson): Set<number> {
  const held = new Set<number>([...listAnimated(json).nodes, ...listNodesElsewhere(json)]);
  for (const { joints = [], skeleton } of json.skins ?? []) {
    for (const joint of joints) held.add(joint);
    if (skeleton !== undefined) held.add(skeleton);
  }
  return held;
}
