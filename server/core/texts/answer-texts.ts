import { count, pick } from './format-text.ts';

/** Texts of answers that are neither problems nor findings. */

/** Reasons in the lists of a job. Each product or variant has one line, so equal texts occur once. */
export const JOB_TEXTS = {
  noModel: 'It has no model yet.',
  noSchedule: 'It has no schedule yet.',
  productDeleted: (product: string) =>
    `${product} was deleted after the job began; Dyeworks makes no more of its pictures.`,
  variantRemoved: (product: string, variant: string) =>
    `${product}: the variant ${variant} was removed from the schedule after the job began.`,
  ofProduct: (product: string, reason: string) => `${product}: ${reason}`,
  ofVariant: (product: string, variant: string, reason: string) => `${product} ${variant}: ${reason}`,
  progressLost:
    'The job stopped, because Dyeworks could not save its progress. It continues when the service starts again.',
} as const;

export const SHEET_TEXTS = {
  schedule: 'Finish schedule',
  checkSet: { pairs: 'Check set: every allowed pair once', 'each-finish': 'Check set: each finish once' },
  mostRows: (most: number) => `at most ${most} rows`,
  mostPanels: (most: number) => `at most ${most} patterned finishes and metals`,
} as const;

/** A note about a panel in the light of the studio. */
export const GLOSS_BAND_NOTE =
  'The upper quarter of the panel shows its gloss, seen at up to 59° from upright so that it mirrors the key light. The colour is measured below it.';

export const MODEL_TEXTS = {
  notMeasured: 'Dyeworks could not measure the model. Try again in a minute.',
  preparationLeftOut: (reason: string) => `Dyeworks left out the whole preparation: ${reason}`,
} as const;

/** The changes of a line since a caller read it: the first few as sentences. */
export function listFirstChanges(changes: readonly string[], most: number): string {
  const rest = changes.length - most;
  return `${changes.slice(0, most).join(' ')}${rest > 0 ? ` There ${pick(rest, 'is', 'are')} ${count(rest, 'more change')}.` : ''}`;
}

/** What to change if no variant contains the named choices. */
export const NO_VARIANT_LEFT = { chosen: 'Choose another finish.', never: 'Change a rule, or the options.' } as const;
