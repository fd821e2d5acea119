import { ColorSpace, deltaECMC as colorjsDeltaECmc, Lab as LabD50 } from 'colorjs.io/fn';
import type { Lab } from './lab.ts';

ColorSpace.register(LabD50);

/**
 * CMC(l:c) colour difference of a sample from its reference, both Lab under one illuminant (ISO 105-J03, BS 6923).
 * Not symmetric: the tolerance grows about the reference. 2:1 judges whether cloth is acceptable, 1:1 whether a difference
 * is seen.
 */
export function deltaECmc(reference: Lab, sample: Lab, l = 2, c = 1): number {
  return colorjsDeltaECmc(
    { space: LabD50, coords: [...reference], alpha: 1 },
    { space: LabD50, coords: [...sample], alpha: 1 },
    { l, c },
  );
}
