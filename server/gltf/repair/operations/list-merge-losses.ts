import { DRACO, type GltfJson, type PrimitiveJson, VARIANTS } from '../../document/json.ts';
import { findPrimitive, groupParts, type MergePart } from './plan-merge.ts';

/** What merging these parts would lose, in words. */
export function listMergeLosses(json: GltfJson, parts: readonly MergePart[]): string[] {
  const losses: string[] = [];
  const objects = new Set<{ name?: string; extras?: unknown; extensions?: object; attributes?: object }>();
  for (const part of parts) {
    for (const object of [json.nodes![part.node]!, json.meshes![part.mesh]!, findPrimitive(json, part)]) {
      objects.add(object);
    }
  }
  let extras = 0;
  const extensions = new Map<string, number>();
  for (const object of objects) {
    if (hasContent(object.extras)) extras++;
    for (const name of Object.keys(object.extensions ?? {})) {
      if (!CARRIED.has(name)) extensions.set(name, (extensions.get(name) ?? 0) + 1);
    }
  }
  if (extras > 0) losses.push(`extras of ${tell(extras)}`);
  for (const [name, count] of extensions) losses.push(`${name} on ${tell(count)}`);
  for (const [name, count] of listUneven(json, parts))
    losses.push(`attribute ${name} of ${count} ${count === 1 ? 'primitive' : 'primitives'}`);
  return losses;
}

const tell = (count: number) => (count === 1 ? '1 node, mesh or primitive' : `${count} nodes, meshes or primitives`);

/** Extensions merging takes care of: carried over, unpacked, or kept on their node. */
const CARRIED = new Set([VARIANTS, DRACO, 'KHR_lights_punctual', 'KHR_node_visibility', 'EXT_mesh_gpu_instancing']);

export function hasContent(extras: unknown): boolean {
  if (extras === undefined || extras === null) return false;
  return typeof extras !== 'object' || Object.keys(extras).length > 0;
}

/** Attributes of their own (`_NAME`) that only some primitives of a group have, and so go. */
function listUneven(json: GltfJson, parts: readonly MergePart[]): Map<string, number> {
  const lost = new Map<string, number>();
  for (const group of groupParts(json, parts)) {
    const primitives = new Set(group.map((part) => findPrimitive(json, part)));
    const kept = new Set(listCustom(json, [...primitives]).map(({ name }) => name));
    for (const { attributes } of primitives) {
      for (const name of Object.keys(attributes)) {
        if (isCustom(name) && !kept.has(name)) lost.set(name, (lost.get(name) ?? 0) + 1);
      }
    }
  }
  return lost;
}

/** Matrices among attributes have padding of their own, and nobody is known to use them. */
const VECTORS = new Set(['SCALAR', 'VEC2', 'VEC3', 'VEC4']);

const isCustom = (name: string) => name.startsWith('_');

/** Attributes of their own that all of these primitives have, in one type. */
export function listCustom(json: GltfJson, group: readonly PrimitiveJson[]): { name: string; type: string }[] {
  return Object.entries(group[0]!.attributes).flatMap(([name, accessor]) => {
    const { type } = json.accessors![accessor]!;
    const shared = ({ attributes }: PrimitiveJson) =>
      attributes[name] !== undefined && json.accessors![attributes[name]]!.type === type;
    return isCustom(name) && VECTORS.has(type) && group.every(shared) ? [{ name, type }] : [];
  });
}
