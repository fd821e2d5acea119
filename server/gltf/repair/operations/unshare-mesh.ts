import { count, listNames } from '../../../core/texts/format-text.ts';
import type { GltfJson } from '../../document/json.ts';
import { listSceneNodes } from '../../document/world-matrices.ts';
import { listAnimated } from '../edit/scene-nodes.ts';
import { done, nothingToDo, type Repairer, unfit } from '../repairer.ts';

/**
 * Gives every further node that shows a mesh a mesh of its own, so that each can wear its own finish. JSON only: the copies
 * read the same accessors. Materials stay what they were. A mesh whose weights an animation drives by pointer stays
 * shared, since the copies would stand still.
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
      return shared.length === 0
        ? nothingToDo(meshes ? 'None of these meshes is shown by several nodes.' : 'No mesh is shown by several nodes.')
        : unfit(
            'An animation drives the shared meshes by pointer, and their copies would stand still. Leave them shared.',
          );
    }
    const taken = new Set((json.meshes ?? []).map(({ name }) => name));
    let copies = 0;
    for (const mesh of free) {
      for (const node of users.get(mesh)!.slice(1)) {
        json.nodes![node]!.mesh = copyMesh(json, mesh, taken);
        copies++;
      }
    }
    const names = listNames(free.map((mesh) => json.meshes![mesh]!.name || `/meshes/${mesh}`));
    const left = shared.length - free.length;
    return done(
      `${names}: ${count(copies, 'copy', 'copies')} made, so that every node has a mesh of its own.` +
        (left > 0 ? ` ${count(left, 'mesh', 'meshes')} stayed shared, since an animation drives them by pointer.` : ''),
      { meshes: free.length, copies, leftShared: left },
    );
  },
};

/** Nodes by the mesh they show: those of the scene first, of which the first keeps the mesh. */
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

/** Meshes by name or pointer, in order, each once; or which of them is not there. */
function findMeshes({ meshes = [] }: GltfJson, references: readonly string[]): number[] | string {
  const found = new Set<number>();
  for (const reference of references) {
    const [, digits] = /^\/meshes\/(\d+)$/.exec(reference) ?? [];
    const own = meshes.flatMap(({ name }, index) =>
      (digits === undefined ? name === reference : Number(digits) === index) ? index : [],
    );
    if (own.length === 0) return `The model has no mesh “${reference}”. Take it out, or correct the name.`;
    for (const index of own) found.add(index);
  }
  return [...found];
}

function copyMesh(json: GltfJson, mesh: number, taken: Set<string | undefined>): number {
  const copy = structuredClone(json.meshes![mesh]!);
  if (copy.name) {
    const { name } = copy;
    for (let number = 2; taken.has(copy.name); number++) copy.name = `${name} ${number}`;
    taken.add(copy.name);
  }
  return json.meshes!.push(copy) - 1;
}
