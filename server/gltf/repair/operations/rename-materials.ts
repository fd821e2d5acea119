import { checkName } from '../../../core/codes.ts';
import { Problem } from '../../../core/problems.ts';
import { count } from '../../../core/texts/format-text.ts';
import type { ModelEdit } from '../edit/model-edit.ts';
import { done, nothingToDo, type Repairer, unfit } from '../repairer.ts';

/**
 * Gives materials other names, all at once, so that two may swap. Names are what slots are matched by: none that is given
 * may be another material's too, and a renaming that finds no material, or several, refuses all.
 */
export const renameMaterials: Repairer<'rename-materials'> = {
  apply(edit, { names }) {
    const { materials = [] } = edit.json;
    const given = new Map<number, string>();
    for (const { from, to: wanted } of names) {
      const to = readName(wanted);
      if (to === null)
        return unfit(`“${wanted}” cannot be a name. Give 1 to 120 characters, none of them control characters.`);
      const found = findMaterial(edit, from, to);
      if (typeof found === 'string') return unfit(found);
      if (given.has(found)) return unfit(`Two renamings mean material ${tell(edit, found)}. Keep one.`);
      given.set(found, to);
    }
    const after = materials.map(({ name }, index) => given.get(index) ?? name);
    for (const [index, to] of given) {
      const other = after.findIndex((name, at) => at !== index && name !== undefined && fold(name) === fold(to));
      if (other >= 0)
        return unfit(
          `Two materials would be called “${to}”: ${tell(edit, index)} and ${tell(edit, other)}. Choose another name for one of them.`,
        );
    }
    const changes = [...given].filter(([index, to]) => materials[index]!.name !== to);
    if (changes.length === 0) return nothingToDo('The materials have these names already.');
    const told = changes.slice(0, TOLD).map(([index, to]) => `${tell(edit, index)} is now “${to}”`);
    for (const [index, to] of changes) materials[index]!.name = to;
    const rest = changes.length - told.length;
    return done(`${told.join(', ')}${rest > 0 ? ` and ${rest} more` : ''}.`, { renamed: changes.length });
  },
};

/** Renamings a message tells one by one. */
const TOLD = 12;

/** Index of the one material a renaming means, or what is wrong with it. */
function findMaterial(edit: ModelEdit, from: string, to: string): number | string {
  const found = edit.findMaterials(from);
  if (found.length === 1) return found[0]!;
  if (found.length > 1) {
    const pointers = found.map((index) => `/materials/${index}`).join(', ');
    return `${count(found.length, 'material')} are called “${from}”. Say which one by its pointer: ${pointers}.`;
  }
  // a model that comes with the name already has nothing left to rename
  const already = edit.findMaterials(to);
  return already.length === 1
    ? already[0]!
    : `The model has no material “${from}”. Take the renaming out, or correct the name.`;
}

function tell({ json }: ModelEdit, index: number): string {
  const name = json.materials![index]!.name;
  return name ? `“${name}”` : `/materials/${index}`;
}

function readName(text: string): string | null {
  try {
    return checkName(text, '/names');
  } catch (cause) {
    if (cause instanceof Problem) return null;
    throw cause;
  }
}

/** Names that differ in case or in white space around them are not told apart by people. */
const fold = (name: string) => name.normalize('NFC').trim().toLowerCase();
