import { count } from '../format-text.ts';
import type { ProblemTexts } from './problem-text.ts';

/** Texts about repairs, preparations and the variants that a model contains. */
export const REPAIR_PROBLEMS = {
  'no-variants-to-take': (product: string, reason: string) =>
    `The model of ${product} contains no variants to import. ${reason} Write its schedule instead.`,
  'schedule-in-the-way': (product: string, variants: number) =>
    `${product} already has a schedule of ${count(variants, 'variant')}. Set “replace” to true to replace it with the variants of the model.`,
  'nothing-to-replay':
    'The preparation has no steps, and the model is as it was received. Make a repair, or save a list of steps.',
  'repair-broke-model': (codes: string, first: string | null) =>
    `The repair would add glTF validator errors (${codes}${first === null ? '' : `: ${first}`}), so Dyeworks changed nothing. Leave out the repair that causes them, and report it to us.`,
  'stale-model': (now: number | null, meant: number | null) =>
    `The model ${now === null ? 'has no revision' : `is now at revision ${now}`}, but this change was made for ${
      meant === null ? 'a product without a model' : `revision ${meant}`
    }. Look at the current model, then repeat the change.`,
} as const satisfies ProblemTexts;
