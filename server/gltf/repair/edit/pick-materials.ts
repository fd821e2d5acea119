import type { MaterialReference } from '../../../core/repair/repair.ts';
import type { ModelEdit } from './model-edit.ts';

/** How many names a message lists before it only counts the rest. */
const LISTED = 12;

export interface Picked {
  /** Ascending, each once. */
  readonly materials: readonly number[];
  /** References to materials that the model does not have. */
  readonly missing: readonly MaterialReference[];
}

/** Finds the materials that references name. */
export function pickMaterials(edit: ModelEdit, references: readonly MaterialReference[]): Picked {
  const materials = new Set<number>();
  const missing: MaterialReference[] = [];
  for (const reference of references) {
    const found = edit.findMaterials(reference);
    if (found.length === 0) missing.push(reference);
    for (const index of found) materials.add(index);
  }
  return { materials: [...materials].sort((a, b) => a - b), missing };
}

/** Materials by name, or by pointer where they have none: “Oak”, “Steel” and /materials/3. */
export function listMaterialNames({ json }: ModelEdit, materials: readonly number[]): string {
  return joinNames(
    materials.map((index) => {
      const name = json.materials![index]!.name;
      return typeof name === 'string' && name !== '' ? `“${name.slice(0, 200)}”` : `/materials/${index}`;
    }),
  );
}

export function joinNames(names: readonly string[]): string {
  const rest = names.length - LISTED;
  if (rest > 0) return `${names.slice(0, LISTED).join(', ')} and ${rest} more`;
  return names.length > 1 ? `${names.slice(0, -1).join(', ')} and ${names[names.length - 1]}` : (names[0] ?? 'none');
}

/** A sentence about references to materials that do not exist, or an empty text. */
export function sayMissing(edit: ModelEdit, missing: readonly MaterialReference[]): string {
  if (missing.length === 0) return '';
  const all = listMaterialNames(edit, [...(edit.json.materials ?? []).keys()]);
  return ` The model has no material ${joinNames(missing.map((name) => `“${name}”`))}; it has ${all}.`;
}
