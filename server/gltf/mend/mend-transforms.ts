import type { GltfJson, NodeJson } from '../document/json.ts';
import { localMatrix, type Matrix, multiply } from '../document/world-matrices.ts';
import type { Mender } from './mend-values.ts';

/**
 * Largest entry of a world matrix, in metres: about a light hour. Larger ones leave single precision once they are
 * multiplied by a coordinate.
 */
const REACH = 1e12;

const OWN = ['matrix', 'translation', 'rotation', 'scale'] as const;

/** Removes the transform of a node that is out of reach, by itself or together with its parents. */
export function mendTransforms(json: GltfJson, mender: Mender): GltfJson {
  const { nodes } = json;
  if (!Array.isArray(nodes)) return json;
  const mended = [...nodes];
  const seen = new Set<number>();
  const children = new Set(nodes.flatMap((node) => listChildren(node)));
  const open = nodes.flatMap((_, node) => (children.has(node) ? [] : [{ node, parent: null as Matrix | null }]));
  while (open.length > 0) {
    const { node: index, parent } = open.pop()!;
    const node = nodes[index];
    if (typeof node !== 'object' || node === null || seen.has(index)) continue;
    seen.add(index);
    // a model may have a million empty nodes
    const isPlain = OWN.every((key) => node[key] === undefined);
    let world = isPlain ? parent : parent ? multiply(parent, localMatrix(node)) : localMatrix(node);
    if (world && !world.every((entry) => Math.abs(entry) <= REACH)) {
      const [own] = OWN.filter((key) => node[key] !== undefined);
      mender.note(
        'damaged-value',
        ['nodes', index, own ?? 'scale'],
        node[own ?? 'scale'],
        'a place and size a part can have',
      );
      const { matrix: _, translation: __, rotation: ___, scale: ____, ...rest } = node;
      mended[index] = rest;
      world = parent;
    }
    for (const child of listChildren(node)) open.push({ node: child, parent: world });
  }
  return mended.some((node, i) => node !== nodes[i]) ? { ...json, nodes: mended } : json;
}

function listChildren(node: NodeJson | null): readonly number[] {
  return Array.isArray(node?.children) ? node.children : [];
}
