import { labelMesh, REPAIR_OUTCOMES } from '../../../core/texts/repair-outcomes.ts';
import { type GltfJson, readName } from '../../document/json.ts';
import { listSceneNodes } from '../../document/world-matrices.ts';
import { listAnimated } from '../edit/scene-nodes.ts';
import { done, nothingToDo, type Repairer, unfit } from '../repairer.ts';

const OUTCOMES = REPAIR_OUTCOMES['unshare-mesh'];

/**
 * Gives every node that shares a mesh its own copy, so that each can have its own finish. Only the JSON changes: the copies
 * read the same accessors and keep their materials. A mesh whose weights an animation changes by pointer stays shared, since
 * its copies would not move.
 */
export const unshareMesh: Repairer<'unshare-mesh'> = {
  apply({ json }, { meshes }) {
    const users = listUsers(json);
    const wanted = meshes ? findMeshes(json, meshes) : [...users.keys()];
    if (typeof wanted === 'string') return unfit(wanted);
    const shared = wanted.filter((mesh) => (users.get(mesh)?.length ?? 0) > 1);
    const { meshes: driven } = listAnimated(json);
    const free = shared.filter((mesh) => !driven.has(mesh));
    if (free.length === 0) {
      return shared.length === 0 ? nothingToDo(OUTCOMES.nothing(meshes !== undefined)) : unfit(OUTCOMES.animated);
    }
    const usedNames = new Set((json.meshes ?? []).map(({ name }) => name));
    let copies = 0;
    for (const mesh of free) {
      for (const node of users.get(mesh)!.slice(1)) {
        json.nodes![node]!.mesh = copyMesh(json, mesh, usedNames);
        copies++;
      }
    }
    const labels = free.map((mesh) => labelMesh(readName(json.meshes![mesh]!.name), mesh));
    const leftShared = shared.length - free.length;
    return done(OUTCOMES.done(labels, copies, leftShared), { meshes: free.length, copies, leftShared });
  },
};

/** Nodes by the mesh that they use, those of the scene first. The first node keeps the mesh. */
function listUsers(json: GltfJson): Map<number, number[]> {
  const users = new Map<number, number[]>();
  const inScene = new Set(listSceneNodes(json).map(({ node }) => node));
  const all = [...(json.nodes ?? []).keys()];
  for (const node of [...all.filter((at) => inScene.has(at)), ...all.filter((at) => !inScene.has(at))]) {
    const { mesh } = json.nodes![node]!;
    if (mesh === undefined) continue;
    const own = users.get(mesh);
    if (own) own.push(node);
    else users.set(mesh, [node]);
  }
  return users;
}

/** Indices of meshes named by name or pointer, in order, each once; or a message if one does not exist. */
function findMeshes({ meshes = [] }: GltfJson, references: readonly string[]): number[] | string {
  const found = new Set<number>();
  for (const reference of references) {
    const [, digits] = /^\/meshes\/(\d+)$/.exec(reference) ?? [];
    const own = meshes.flatMap(({ name }, index) =>
      (digits === undefined ? name === reference : Number(digits) === index) ? index : [],
    );
    if (own.length === 0) return OUTCOMES.unknown(reference);
    for (const index of own) found.add(index);
  }
  return [...found];
}

function copyMesh(json: GltfJson, mesh: number, usedNames: Set<string | undefined>): number {
  const copy = structuredClone(json.meshes![mesh]!);
  if (copy.name) {
    const { name } = copy;
    for (let number = 2; usedNames.has(copy.name); number++) copy.name = `${name} ${number}`;
    usedNames.add(copy.name);
  }
  return json.meshes!.push(copy) - 1;
}
