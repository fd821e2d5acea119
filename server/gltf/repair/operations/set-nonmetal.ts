import { count } from '../../../core/texts/format-text.ts';
import { readFactors } from '../../document/read-material.ts';
import type { ModelEdit } from '../edit/model-edit.ts';
import { listMaterialNames, pickMaterials, sayMissing } from '../edit/pick-materials.ts';
import { done, nothingToDo, type Repairer, unfit } from '../repairer.ts';

/**
 * Sets `metallicFactor` of materials to 0, which switches off the blue channel of a metallic-roughness map. The map stays,
 * since its green channel is the roughness. Without a list of materials the repair does not fit: a person, or the findings,
 * must say which parts are not metal.
 */
export const setNonmetal: Repairer<'set-nonmetal'> = {
  apply(edit, { materials: references }) {
    if (!references) {
      const metallic = [...(edit.json.materials ?? []).keys()].filter((index) => isMetallic(edit, index));
      if (metallic.length === 0) return nothingToDo('No material of the model is metal.');
      return unfit(
        `Say which materials are no metal, by “materials”: the model has it on ${listMaterialNames(edit, metallic)}.`,
      );
    }
    const { materials, missing } = pickMaterials(edit, references);
    if (materials.length === 0) return unfit(sayMissing(edit, missing).trim() || 'No material is named.');
    const changed = materials.filter((index) => isMetallic(edit, index));
    if (changed.length === 0) {
      return nothingToDo(`${listMaterialNames(edit, materials)}: no metal already.${sayMissing(edit, missing)}`);
    }
    let maps = 0;
    for (const index of changed) {
      const pbr = (edit.json.materials![index]!.pbrMetallicRoughness ??= {});
      pbr.metallicFactor = 0;
      if (pbr.metallicRoughnessTexture) maps++;
    }
    const kept =
      maps > 0
        ? ` ${count(maps, 'metallic-roughness map')} ${maps === 1 ? 'stays for its' : 'stay for their'} roughness.`
        : '';
    return done(`metallicFactor is 0 now on ${listMaterialNames(edit, changed)}.${kept}${sayMissing(edit, missing)}`, {
      materials: changed.length,
      mapsKept: maps,
    });
  },
};

/** Whether the factor says metal, whatever a map says; glTF's default is 1. */
function isMetallic({ json }: ModelEdit, index: number): boolean {
  return readFactors(json.materials![index]!).metallic > 0;
}
