import { checkDamage, checkFile } from './check-file.ts';
import { checkImages, checkMaps } from './check-maps.ts';
import { checkMaterials } from './check-materials.ts';
import { checkFacing, checkPieces } from './check-pieces.ts';
import { checkMount, checkSize } from './check-size.ts';
import { checkStructure } from './check-structure.ts';
import { checkUv } from './check-uv.ts';
import { checkWeight } from './check-weight.ts';
import type { Finding } from './finding.ts';
import { gatherFacts, type ModelUnderCheck } from './model-facts.ts';

export type { ModelUnderCheck } from './model-facts.ts';

/**
 * Checks whether a model is ready to take finishes. Never throws. A good model has no findings.
 *
 * A warning hinders finishes or breaks a rule that the model can meet. It names a way out: repairs, or whom to ask. A
 * finding that no repair settles and that affects no finish is a note.
 */
export function checkModel(model: ModelUnderCheck): Finding[] {
  const facts = gatherFacts(model);
  const size = checkSize(facts.product, facts.survey);
  const hasUnitSlip = size.some(({ code }) => code === 'unit-slip');
  return [
    ...size,
    ...checkMount(facts.product.mount, facts.survey, hasUnitSlip),
    ...checkDamage(facts.survey),
    ...checkStructure(facts),
    ...checkFacing(facts),
    ...checkPieces(facts),
    ...checkMaterials(facts),
    ...checkMaps(facts),
    ...checkUv(facts),
    ...checkImages(facts),
    ...checkWeight(facts),
    ...checkFile(facts),
  ];
}
