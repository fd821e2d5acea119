import { REPAIR_LOSSES } from '../../../core/texts/repair-outcomes.ts';
import { isKnownExtension } from '../../document/extensions.ts';
import type { GltfJson, NodeJson } from '../../document/json.ts';
import { listParents, listTops } from '../../document/world-matrices.ts';

export interface Animated {
  readonly nodes: ReadonlySet<number>;
  readonly meshes: ReadonlySet<number>;
}

/** Nodes and meshes that animations drive, by channels or by pointers (`KHR_animation_pointer`). */
export function listAnimated(json: GltfJson): Animated {
  const nodes = new Set<number>();
  const meshes = new Set<number>();
  for (const { channels = [] } of json.animations ?? []) {
    for (const { target } of channels) {
      if (typeof target?.node === 'number') nodes.add(target.node);
      const pointer = target?.extensions?.KHR_animation_pointer?.pointer;
      const match = typeof pointer === 'string' ? /^\/(nodes|meshes)\/(\d+)(\/|$)/.exec(pointer) : null;
      if (match) (match[1] === 'nodes' ? nodes : meshes).add(Number(match[2]));
    }
  }
  return { nodes, meshes };
}

/** Nodes of scenes other than the default one. */
export function listNodesElsewhere(json: GltfJson): ReadonlySet<number> {
  const found = new Set<number>();
  const stack = (json.scenes ?? []).flatMap(({ nodes }, index) => (index === (json.scene ?? 0) ? [] : (nodes ?? [])));
  while (stack.length > 0) {
    const node = stack.pop()!;
    if (found.has(node)) continue;
    found.add(node);
    for (const child of json.nodes![node]!.children ?? []) stack.push(child);
  }
  return found;
}

export function hasContent(extras: unknown): boolean {
  if (extras === undefined || extras === null) return false;
  return typeof extras !== 'object' || Object.keys(extras).length > 0;
}

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

/** A movement of the whole scene. */
interface RootMove {
  /** The properties of a node that it changes. A root in which an animation drives one of them is wrapped in a new node. */
  readonly paths: readonly ('translation' | 'rotation')[];
  /** Applies the movement before a node's own transform, in place. */
  apply(node: NodeJson): void;
}

/**
 * Moves the roots of every scene, so that scenes that share roots agree. A root that an animation moves would jump back, so
 * it becomes the child of a new node.
 */
export function moveRoots(json: GltfJson, { paths, apply }: RootMove): { moved: number; wrapped: number } {
  // without scenes, viewers show all nodes without a parent
  const tops = new Set((json.scenes ?? []).flatMap(({ nodes = [] }) => listTops(json, nodes)));
  if (!json.scenes?.length) for (const node of listTops(json, [...(json.nodes ?? []).keys()])) tops.add(node);
  const driven = listDriven(json, paths);
  const wrappers = new Map<number, number>();
  for (const top of tops) {
    if (!driven.has(top)) {
      apply(json.nodes![top]!);
      continue;
    }
    const wrapper: NodeJson = { children: [top] };
    apply(wrapper);
    wrappers.set(top, json.nodes!.push(wrapper) - 1);
  }
  for (const scene of json.scenes ?? []) {
    if (scene.nodes) scene.nodes = scene.nodes.map((listed) => wrappers.get(listed) ?? listed);
  }
  return { moved: tops.size, wrapped: wrappers.size };
}

/** Nodes in which an animation drives one of these properties, or the matrix. */
function listDriven(json: GltfJson, paths: RootMove['paths']): Set<number> {
  const found = new Set<number>();
  for (const { channels = [] } of json.animations ?? []) {
    for (const { target } of channels) {
      if (paths.some((path) => path === target?.path) && typeof target?.node === 'number') found.add(target.node);
      const pointer = target?.extensions?.KHR_animation_pointer?.pointer;
      const [, node, path] = (typeof pointer === 'string' && /^\/nodes\/(\d+)\/(\w+)$/.exec(pointer)) || [];
      if (node !== undefined && (path === 'matrix' || paths.some((one) => one === path))) found.add(Number(node));
    }
  }
  return found;
}

/**
 * Names the unknown extensions on nodes, meshes and primitives, for a report of losses. They may hold positions or lengths,
 * which a repair that moves geometry cannot move.
 * @param moved nodes that are moved; all if left out
 */
export function listUnknownExtensions({ nodes = [], meshes = [] }: GltfJson, moved?: ReadonlySet<number>): string[] {
  const counts = new Map<string, number>();
  const seen = new Set<number>();
  const add = (holder: { extensions?: object }) => {
    for (const name of Object.keys(holder.extensions ?? {})) {
      if (!isKnownExtension(name)) counts.set(name, (counts.get(name) ?? 0) + 1);
    }
  };
  nodes.forEach((node, index) => {
    if (moved && !moved.has(index)) return;
    add(node);
    if (node.mesh === undefined || seen.has(node.mesh)) return;
    seen.add(node.mesh);
    add(meshes[node.mesh] as { extensions?: object });
    for (const primitive of meshes[node.mesh]!.primitives) add(primitive);
  });
  return [...counts].map(([name, count]) => REPAIR_LOSSES.extension(name, count));
}
