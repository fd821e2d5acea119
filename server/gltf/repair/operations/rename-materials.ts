import { checkName } from '../../../core/codes.ts';
import { Problem } from '../../../core/problems.ts';
import { REPAIR_OUTCOMES } from '../../../core/texts/repair-outcomes.ts';
import type { ModelEdit } from '../edit/model-edit.ts';
import { done, nothingToDo, type Repairer, unfit } from '../repairer.ts';

const OUTCOMES = REPAIR_OUTCOMES['rename-materials'];

/**
 * Renames materials, all at once, so that two may swap names. Slots are matched by these names, so no two materials may end
 * up with the same one. An entry that matches no material, or several, refuses the whole repair.
 */
export const renameMaterials: Repairer<'rename-materials'> = {
  apply(edit, { names }) {
    const { materials = [] } = edit.json;
    const given = new Map<number, string>();
    const label = (index: number) => edit.labelMaterials([index])[0]!;
    for (const { from, to: wanted } of names) {
      const to = readName(wanted);
      if (to === null) return unfit(OUTCOMES.invalidName(wanted));
      const found = findMaterial(edit, from, to);
      if (typeof found === 'string') return unfit(found);
      if (given.has(found)) return unfit(OUTCOMES.materialTwice(label(found)));
      given.set(found, to);
    }
    const after = materials.map(({ name }, index) => given.get(index) ?? name);
    for (const [index, to] of given) {
      const other = after.findIndex((name, at) => at !== index && name !== undefined && fold(name) === fold(to));
      if (other >= 0) return unfit(OUTCOMES.nameTwice(to, label(index), label(other)));
    }
    const changes = [...given].filter(([index, to]) => materials[index]!.name !== to);
    if (changes.length === 0) return nothingToDo(OUTCOMES.nothing);
    const message = OUTCOMES.done(changes.map(([index, to]) => ({ material: label(index), name: to })));
    for (const [index, to] of changes) materials[index]!.name = to;
    return done(message, { renamed: changes.length });
  },
};

/** Index of the one material that an entry renames, or the reason why there is none. */
function findMaterial(edit: ModelEdit, from: string, to: string): number | string {
  const found = edit.findMaterials(from);
  if (found.length === 1) return found[0]!;
  if (found.length > 1) {
    return OUTCOMES.ambiguous(
      from,
      found.map((index) => `material ${index}`),
    );
  }
  // a new export may have the new name already
  const already = edit.findMaterials(to);
  return already.length === 1 ? already[0]! : OUTCOMES.unknown(from);
}

function readName(text: string): string | null {
  try {
    return checkName(text, '/names');
  } catch (cause) {
    if (cause instanceof Problem) return null;
    throw cause;
  }
}

/** People cannot distinguish names that differ only in case or in white space around them. */
const fold = (name: string) => name.normalize('NFC').trim().toLowerCase();
