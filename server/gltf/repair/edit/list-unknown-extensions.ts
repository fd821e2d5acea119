import { isKnownExtension } from '../../document/extensions.ts';
import type { GltfJson } from '../../document/json.ts';

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
  return [...counts].map(
    ([name, count]) => `what ${name} says of ${count} ${count === 1 ? 'node or mesh' : 'nodes or meshes'}`,
  );
}
