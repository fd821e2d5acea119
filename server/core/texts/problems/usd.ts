import type { ProblemTexts } from '../../problems.ts';

/** Texts about files in USD. */
export const USD_PROBLEMS = {
  'usd-too-large':
    'The file in USD would be larger than its format allows: 4 GiB, with 1 GiB of textures. Deliver fewer variants, or reduce the geometry and the textures of the model.',
  'usd-nothing-to-show':
    'The delivered model draws nothing, so it cannot be shown in a room. Add a model with geometry.',
} as const satisfies ProblemTexts;
