import type { GltfJson, NodeJson } from '../../document/json.ts';
import { listTops } from '../../document/world-matrices.ts';

/** A movement of the whole scene. */
export interface RootMove {
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
