import type { GltfJson } from '../document/json.ts';
import type { Matrix } from '../document/world-matrices.ts';

/** A volume smaller than this against its longest edge's cube is a rounding of zero. */
const FLAT = 1e-12;

/**
 * Nodes of the scene whose mesh shows nothing: a scale of zero, their own or handed down, or `KHR_node_visibility`.
 * What an animation moves may be shown by it and is not counted; skinned meshes stand where their joints are.
 */
export function listHidden(
  json: GltfJson,
  sceneNodes: readonly { readonly node: number; readonly matrix: Matrix }[],
): number[] {
  const hidden = new Set<number>();
  const moved = new Set(listMoved(json));
  // parents come before their children in the list
  const inherits = new Set<number>();
  const handDown = (node: number, to: Set<number>) => {
    for (const child of json.nodes![node]!.children ?? []) to.add(child);
  };
  for (const { node, matrix } of sceneNodes) {
    const { extensions, mesh, skin } = json.nodes![node]!;
    if (moved.has(node)) {
      handDown(node, moved);
      continue;
    }
    const invisible = inherits.has(node) || extensions?.KHR_node_visibility?.visible === false;
    if (invisible) handDown(node, inherits);
    if (mesh !== undefined && (invisible || (skin === undefined && isFlat(matrix)))) hidden.add(node);
  }
  return [...hidden];
}

/** Nodes that an animation drives, whatever of them. */
function* listMoved(json: GltfJson): Generator<number> {
  for (const { channels = [] } of json.animations ?? []) {
    for (const { target } of channels) {
      if (target?.node !== undefined) yield target.node;
      const pointer = target?.extensions?.KHR_animation_pointer?.pointer;
      const match = typeof pointer === 'string' ? /^\/nodes\/(\d+)\//.exec(pointer) : null;
      if (match) yield Number(match[1]);
    }
  }
}

function isFlat(m: Matrix): boolean {
  const [a, b, c, d, e, f, g, h, i] = [m[0]!, m[1]!, m[2]!, m[4]!, m[5]!, m[6]!, m[8]!, m[9]!, m[10]!];
  const volume = a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g);
  const longest = Math.max(Math.hypot(a, b, c), Math.hypot(d, e, f), Math.hypot(g, h, i));
  return !(Math.abs(volume) > FLAT * longest ** 3);
}
