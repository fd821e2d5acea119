import type { FinishLibrary } from '../actions/loaded-product.ts';
import type { StoredFinish } from '../core/finish/finish.ts';
import type { ResolvedFinish } from '../core/finish/resolve-finish.ts';
import { judgeFinish } from '../core/finish/tolerances.ts';
import { APERTURE_CAVEAT } from '../core/gloss/gloss-integral.ts';
import type { FinishAnswer } from './contracts/finish.ts';
import type { ResolvedAnswer } from './contracts/resolved-finish.ts';

/** A finish as defined, and what it resolves to. */
export function toFinishAnswer(finish: StoredFinish, library: FinishLibrary): FinishAnswer {
  const resolved = library.resolve(finish.finish);
  const tolerance = judgeFinish(finish, resolved);
  return { ...finish, resolved: { ...toResolvedAnswer(resolved), tolerance, findings: library.check(finish.finish) } };
}

export function toResolvedAnswer(resolved: ResolvedFinish): Omit<ResolvedAnswer, 'findings' | 'tolerance'> {
  return {
    baseColorFactor: resolved.baseColour,
    roughness: resolved.roughness,
    metalness: resolved.metalness,
    clearcoatRoughness: resolved.clearcoatRoughness,
    gu60: resolved.gu60,
    gloss: resolved.gloss,
    ...(resolved.gu60 !== null && { glossBasis: APERTURE_CAVEAT }),
    hex: resolved.hex,
    colourFrom: resolved.colourFrom,
    specification: resolved.specification,
    delivered: resolved.delivered,
    levelled: resolved.levelled,
    lab: { value: resolved.specifiedLab, illuminant: 'D65', observer: '2deg' },
    outOfGamutDeltaE: resolved.outOfGamutDeltaE,
    estimated: resolved.estimated,
    ...(resolved.includedLab && { includedLab: resolved.includedLab }),
    chipDeltaE: resolved.chipDeltaE,
    displayDeltaE: resolved.displayDeltaE,
  };
}
