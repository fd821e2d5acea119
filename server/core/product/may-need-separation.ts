import { preparationOf } from './origin.ts';
import type { RevisionOrigin } from './product.ts';
import type { Survey, SurveyedMaterial } from './survey.ts';

/** One material that covers nearly everything was baked over parts that would change separately (common practice). */
export const ONE_MATERIAL_SHARE = 0.9;
/** A few islands are what any single part has. */
export const FEW_PIECES = 3;

/** What of a model tells which materials pieces were already taken from. */
export interface Separable {
  readonly survey: Pick<Survey, 'materials'>;
  readonly origin?: RevisionOrigin;
}

/** Whether pieces of a model may have to be told apart. */
export function mayNeedSeparation(model: Separable): boolean {
  return findOneMaterial(model) !== undefined;
}

/**
 * The material that may have to be separated: it has several pieces and covers nearly all of the area, or it is what was
 * left when pieces were taken from such a one.
 */
export function findOneMaterial({ survey: { materials }, origin }: Separable): SurveyedMaterial | undefined {
  const total = materials.reduce((sum, { areaM2 }) => sum + areaM2, 0);
  const rests = origin ? listSeparated(origin) : new Set<string>();
  const own = materials.filter(({ pieces }) => pieces > FEW_PIECES);
  return own.find(({ areaM2 }) => areaM2 >= total * ONE_MATERIAL_SHARE) ?? own.find(({ name }) => rests.has(name));
}

/** Materials that pieces were taken from, by name; not those whose rest is a group of the separation too. */
function listSeparated(origin: RevisionOrigin): Set<string> {
  const separations = preparationOf({ origin }).filter((repair) => repair.repair === 'separate-pieces');
  const isOwn = (name: string, material: string) => name.trim().toLowerCase() === material.trim().toLowerCase();
  return new Set(
    separations
      .filter(({ material, groups }) => !groups.some(({ name }) => isOwn(name, material)))
      .map(({ material }) => material),
  );
}
