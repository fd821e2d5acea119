import type { GltfJson } from '../../document/json.ts';

/** Why a repair leaves a part as it is, in words that follow a number. */
export type KeptOut =
  | 'skinned'
  | 'animated'
  | 'morphing'
  | 'instanced'
  | 'hidden'
  | 'shown by another scene too'
  | 'of points or lines'
  | 'that cannot be read';

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
