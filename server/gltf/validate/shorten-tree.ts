import type { GltfJson } from '../document/json.ts';

/** Levels that stay. Skeletons and assemblies of products have fewer than twenty. */
const LEVELS = 32;
/** The validator walks from every node to its root. A step takes about half a microsecond, so this is half a second. */
const MOST_STEPS = 1_000_000;

/**
 * Shortens a tree of nodes from which the validator would walk too far: for a chain of 20,000 nodes it took 72 s. Nodes below
 * `LEVELS` become children of their ancestor at that level. Every node keeps its index, and a parent if it has one, so the
 * messages stay the same; only a `skeleton` further down may look misplaced.
 * @param json a document whose nodes form trees
 * @returns the same object if its tree is not too deep
 */
export function shortenTree(json: GltfJson): GltfJson {
  const nodes = json.nodes ?? [];
  const parents = new Int32Array(nodes.length).fill(-1);
  nodes.forEach(({ children = [] }, parent) => {
    for (const child of children) parents[child] = parent;
  });
  const { order, levels } = listByLevel(json, parents);
  if (levels.reduce((sum, level) => sum + level, 0) <= MOST_STEPS) return json;
  // the ancestor at the last level that stays, for every node below it
  const holders = new Int32Array(nodes.length).fill(-1);
  const held = new Map<number, number[]>();
  for (const node of order) {
    if (levels[node]! <= LEVELS) continue;
    const parent = parents[node]!;
    const holder = levels[parent]! === LEVELS ? parent : holders[parent]!;
    holders[node] = holder;
    const group = held.get(holder);
    if (group) group.push(node);
    else held.set(holder, [node]);
  }
  return {
    ...json,
    nodes: nodes.map((node, index) => {
      if (levels[index]! < LEVELS) return node;
      const { children: _, ...rest } = node;
      const group = held.get(index);
      // a node that loses its children must not look empty
      return group ? { ...rest, children: group } : { ...rest, ...(node.children && { extras: {} }) };
    }),
  };
}

/** The nodes with parents before children, and the number of ancestors of each. */
function listByLevel({ nodes = [] }: GltfJson, parents: Int32Array): { order: number[]; levels: Int32Array } {
  const levels = new Int32Array(nodes.length);
  const order: number[] = [];
  for (let node = 0; node < nodes.length; node++) if (parents[node] === -1) order.push(node);
  // the list grows while the loop runs
  for (const node of order) {
    for (const child of nodes[node]!.children ?? []) {
      levels[child] = levels[node]! + 1;
      order.push(child);
    }
  }
  return { order, levels };
}
