import type { MeshJson, PrimitiveJson } from '../../document/json.ts';
import { listTriangles, packIndices } from '../../geometry/list-triangles.ts';
import { ELEMENT_ARRAY_BUFFER, type ModelEdit } from './model-edit.ts';

/** A primitive that a node draws, and the change of each of its triangles. */
export interface Assignment {
  readonly node: number;
  readonly mesh: number;
  readonly primitive: number;
  /** By triangle: a material, or -1 for any; for other changes, a code of the caller. */
  readonly wanted: Int32Array;
}

/**
 * Gives triangles their materials: splits every primitive into one for each material of its triangles. They share its
 * vertices. The first keeps its place in the mesh, the others follow at the end.
 * @returns how many meshes were copied
 */
export function splitPrimitives(edit: ModelEdit, assignments: readonly Assignment[]): number {
  return changeMeshes(edit, assignments, splitPrimitive);
}

/**
 * Changes primitives for the nodes that draw them. Nodes that share a mesh but need different changes get copies.
 * @returns how many meshes were copied
 */
export function changeMeshes(
  edit: ModelEdit,
  assignments: readonly Assignment[],
  change: (edit: ModelEdit, mesh: MeshJson, primitive: number, wanted: Int32Array) => void,
): number {
  let copies = 0;
  for (const [mesh, wishes] of groupByMesh(assignments)) {
    const source = structuredClone(edit.json.meshes![mesh]!);
    wishes.forEach(({ nodes, primitives }, index) => {
      let target = mesh;
      if (index > 0) {
        target = edit.json.meshes!.push(structuredClone(source)) - 1;
        for (const node of nodes) edit.json.nodes![node]!.mesh = target;
        copies++;
      }
      for (const { primitive, wanted } of primitives) {
        change(edit, edit.json.meshes![target]!, primitive, wanted);
      }
    });
  }
  return copies;
}

/** Nodes that need the same change of a mesh. */
interface Wish {
  readonly nodes: number[];
  readonly primitives: readonly Assignment[];
}

function groupByMesh(assignments: readonly Assignment[]): Map<number, Wish[]> {
  const byNode = new Map<number, Assignment[]>();
  for (const assignment of assignments) {
    const own = byNode.get(assignment.node);
    if (own) own.push(assignment);
    else byNode.set(assignment.node, [assignment]);
  }
  const byMesh = new Map<number, Wish[]>();
  for (const [node, primitives] of byNode) {
    const { mesh } = primitives[0]!;
    const wishes = byMesh.get(mesh) ?? [];
    byMesh.set(mesh, wishes);
    const same = wishes.find((wish) => agrees(wish.primitives, primitives));
    if (same) same.nodes.push(node);
    else wishes.push({ nodes: [node], primitives });
  }
  return byMesh;
}

function agrees(a: readonly Assignment[], b: readonly Assignment[]): boolean {
  return (
    a.length === b.length &&
    a.every(
      ({ primitive, wanted }, index) =>
        primitive === b[index]!.primitive &&
        wanted.length === b[index]!.wanted.length &&
        wanted.every((one, triangle) => one === b[index]!.wanted[triangle]),
    )
  );
}

function splitPrimitive(edit: ModelEdit, mesh: MeshJson, index: number, wanted: Int32Array): void {
  const primitive = mesh.primitives[index]!;
  const counts = new Map<number, number>();
  for (const material of wanted) counts.set(material, (counts.get(material) ?? 0) + 1);
  const indifferent = counts.get(-1) ?? 0;
  counts.delete(-1);
  if (counts.size === 0) return;
  const base = primitive.material!;
  const order = [...counts.keys()].sort((a, b) => (a === base ? -1 : b === base ? 1 : a - b));
  const [first] = order as [number, ...number[]];
  if (order.length === 1) {
    primitive.material = first;
    return;
  }
  counts.set(first, counts.get(first)! + indifferent);
  const triangles = listTriangles(edit.loaded, primitive)!;
  const vertices = edit.json.accessors![primitive.attributes.POSITION!]!.count;
  const lists = new Map(
    order.map((material) => [material, { corners: new Uint32Array(counts.get(material)! * 3), at: 0 }]),
  );
  for (let t = 0; t < wanted.length; t++) {
    const list = lists.get(wanted[t] === -1 ? first : wanted[t]!)!;
    list.corners[list.at++] = triangles[t * 3]!;
    list.corners[list.at++] = triangles[t * 3 + 1]!;
    list.corners[list.at++] = triangles[t * 3 + 2]!;
  }
  const { mode: _, ...rest } = primitive;
  const split = order.map((material): PrimitiveJson => {
    const { corners } = lists.get(material)!;
    const indices = edit.addAccessor(packIndices(corners, vertices), 'SCALAR', { target: ELEMENT_ARRAY_BUFFER });
    return { ...structuredClone(rest), indices, material };
  });
  mesh.primitives[index] = split[0]!;
  mesh.primitives.push(...split.slice(1));
}
