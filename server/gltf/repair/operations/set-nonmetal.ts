import { describeNoMaterials, REPAIR_NOTES, REPAIR_OUTCOMES } from '../../../core/texts/repair-outcomes.ts';
import { readFactors } from '../../document/read-material.ts';
import type { ModelEdit } from '../edit/model-edit.ts';
import { done, nothingToDo, type Repairer, unfit } from '../repairer.ts';

const OUTCOMES = REPAIR_OUTCOMES['set-nonmetal'];

/**
 * Sets `metallicFactor` of materials to 0, which switches off the blue channel of a metallic-roughness map. The map stays,
 * since its green channel is the roughness. Without a list of materials the repair does not fit: a person, or the findings,
 * must say which parts are not metal.
 */
export const setNonmetal: Repairer<'set-nonmetal'> = {
  apply(edit, { materials: references }) {
    if (!references) {
      const metallic = [...(edit.json.materials ?? []).keys()].filter((index) => isMetallic(edit, index));
      return metallic.length === 0
        ? nothingToDo(OUTCOMES.noMetal)
        : unfit(OUTCOMES.notNamed(edit.labelMaterials(metallic)));
    }
    const { materials, missing } = edit.pickMaterials(references);
    if (materials.length === 0) return unfit(describeNoMaterials(missing, edit.labelMaterials()));
    const note = REPAIR_NOTES.missing(missing, edit.labelMaterials());
    const changed = materials.filter((index) => isMetallic(edit, index));
    if (changed.length === 0) return nothingToDo(OUTCOMES.already(edit.labelMaterials(materials)) + note);
    let mapsKept = 0;
    for (const index of changed) {
      const pbr = (edit.json.materials![index]!.pbrMetallicRoughness ??= {});
      pbr.metallicFactor = 0;
      if (pbr.metallicRoughnessTexture) mapsKept++;
    }
    const figures = { materials: changed.length, mapsKept };
    return done(OUTCOMES.done(edit.labelMaterials(changed), mapsKept) + note, figures);
  },
};

/** Whether the factor is above 0, with or without a map; glTF's default is 1. */
function isMetallic({ json }: ModelEdit, index: number): boolean {
  return readFactors(json.materials![index]!).metallic > 0;
}
