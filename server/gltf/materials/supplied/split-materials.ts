import type { ModelEdit } from '../../repair/edit/model-edit.ts';
import type { Worn } from './read-material-use.ts';

/** What parts wear, under the material that tells them from all others. */
export interface Part extends Worn {
  /** Index in the model as it is after splitting. */
  readonly material: number | null;
}

/**
 * Slots are told apart by material. Where parts of one material change differently, all but one group of them get a copy
 * of it under a name of its own; those that never change keep the original, since it is what they show, else the first.
 */
export function splitMaterials(edit: ModelEdit, worn: readonly Worn[]): { parts: Part[]; copies: number } {
  const byMaterial = new Map<number | null, Worn[]>();
  for (const group of worn) {
    const groups = byMaterial.get(group.own);
    if (groups) groups.push(group);
    else byMaterial.set(group.own, [group]);
  }
  const names = new Set((edit.json.materials ?? []).map(({ name }) => name));
  const parts: Part[] = [];
  let copies = 0;
  for (const [material, groups] of byMaterial) {
    const keeper = groups.find(({ varies }) => !varies) ?? groups[0]!;
    for (const group of groups) {
      if (group === keeper) {
        parts.push({ ...group, material });
        continue;
      }
      const source = material === null ? {} : structuredClone(edit.json.materials![material]!);
      const base = typeof source.name === 'string' && source.name !== '' ? source.name : 'part';
      let n = 2;
      while (names.has(`${base} ${n}`)) n++;
      names.add(`${base} ${n}`);
      const copy = edit.addMaterial({ ...source, name: `${base} ${n}` }, material);
      for (const { mesh, primitive } of group.primitives)
        edit.json.meshes![mesh]!.primitives[primitive]!.material = copy;
      parts.push({ ...group, material: copy });
      copies++;
    }
  }
  return { parts, copies };
}
