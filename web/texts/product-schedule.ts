import { count, formatNumber } from '../../server/core/texts/format-text.ts';
import type { CheckSetFigures } from '../../server/http/contracts/schedule.ts';

/** Texts of a product's schedule: variants, their choices, and ways to add them. */
export const scheduleTexts = {
  heading: 'Schedule',
  empty: 'No variants yet. Add one, or expand the options.',
  intro: (variants: number) =>
    `${count(variants, 'variant')}. Click a finish to change it, or a row number to edit the variant.`,
  allowed: (combinations: string) => ` Options and rules allow ${combinations}.`,
  unusedFinishes: (finishes: number) =>
    `${count(finishes, 'finish', 'finishes')} on offer ${finishes === 1 ? 'has' : 'have'} no valid combination`,

  // table
  columns: { number: 'No.', code: 'Code', name: 'Name in delivered file' },
  states: { saved: '', changed: 'changed', new: 'new' },
  rowButton: (row: number, name: string, isShown: boolean, state: string) =>
    `Row ${row}, ${name}${isShown ? ', shown in the preview' : ''}${state === '' ? '' : `, ${state}`}`,
  codeOf: (row: number) => `Code of row ${row}`,
  nameOf: (row: number) => `Name of row ${row}`,
  isDefault: 'default variant',
  gtin: (digits: string) => `GTIN ${digits}`,
  noFinish: 'no finish',
  cell: (slot: string, variant: string, finish: string, isInvalid: boolean) =>
    `${slot} of ${variant}: ${finish}${isInvalid ? ', not allowed here' : ''}. Change`,
  follow: (finish: string, slot: string) => `Use ${finish} for ${slot}`,
  variantPictures: 'Pictures of the variants',

  // a variant
  variantAlt: (name: string) => `Variant ${name}`,
  gtinField: 'GTIN (optional)',
  makeDefault: 'Make default',
  duplicate: 'Duplicate',
  remove: 'Remove',
  newVariant: 'New variant',

  // choosing a finish
  ofVariant: (name: string) => ` of ${name}`,
  notAnOption: (finish: string) => `${finish} is no longer an option of this slot. Choose another finish.`,
  noOptions: (slot: string) => `${slot} has no options. Choose grades, families or finishes in the slots above.`,
  family: (name: string, grade: string | null) => (grade === null ? name : `${name}, grade ${grade}`),
  keepOriginal: 'No finish (keep the original material)',

  // changes
  changed: (rows: number) => `${count(rows, 'row')} changed`,
  added: (rows: number) => `${count(rows, 'row')} added`,
  removed: (rows: number) => `${count(rows, 'row')} removed`,
  reordered: 'order changed',
  defaultChanged: 'default changed',
  unsaved: (changes: readonly string[]) => `Not saved: ${changes.join(', ')}.`,
  addRow: 'Add variant',
  saveSchedule: 'Save schedule',
  saved: (variants: number) => `Saved, ${count(variants, 'variant')}.`,
  addedVariants: (variants: number) => `${count(variants, 'variant')} added.`,
  nothingAdded: 'The schedule already has all of these variants.',
  needsVariant: 'A schedule needs at least one variant. Add one before you save.',
  savedByOthers:
    'Someone else saved this schedule after you opened it. Save your version to overwrite theirs, or reload to discard your changes.',

  // mistakes in a row
  badCode: 'A code may contain letters, digits, dots, underscores and hyphens. It must begin with a letter or digit.',
  sameCode: (row: number) => `Row ${row} already uses this code. Each variant needs its own.`,
  badName: (min: number, max: number) => `The name must be ${min}–${max} characters long.`,
  sameName: (row: number) =>
    `Row ${row} already uses this name. Viewers select variants by name, so names must differ.`,
  sameGtin: (row: number) => `Row ${row} already uses this GTIN. Each variant needs its own.`,

  // expanding the options
  expand: 'Expand options',
  slotsToVary: 'Slots to vary (other slots keep the finish of the default variant)',
  nameTemplate: 'Name template ({slot} becomes the name of its finish)',
  nothingToCombine:
    'There is nothing to combine: no slot is ticked, a slot has no options, or the rules allow nothing.',
  expansion: (combinations: string) => `Options and rules allow ${combinations}. Existing variants are kept.`,
  overLimit: (limit: number) => ` The limit is ${formatNumber(limit)}. Narrow the options, or untick some slots.`,
  saveFirst: ' Save the schedule first: new variants are added to the saved schedule.',
  addUpTo: (variants: bigint) => `Add up to ${formatNumber(variants)} ${variants === 1n ? 'variant' : 'variants'}`,
  addVariants: 'Add variants',

  // check sets
  addCheckSet: 'Add check set',
  checkSetIntro: 'A check set is a small number of variants to review and approve.',
  checkSetKind: 'Kind of check set',
  checkSetKinds: { 'each-finish': 'Each finish once', pairs: 'Every allowed pair of finishes once' },
  planning: 'Calculating.',
  addCount: (variants: number) => `Add ${count(variants, 'variant')}`,
  checkSet: (kind: 'each-finish' | 'pairs', set: CheckSetFigures) => describeCheckSet(kind, set),

  // printed sheets
  printSchedule: 'Printable schedule, as saved',
  printCompact: 'Compact schedule, up to 32 variants per page',
  printCheckSet: 'Printable check set, each finish once',
  catalogue: 'Catalogue data: ',
  catalogueLink: 'schedule, finish data, swatches and pictures as one ZIP file',
  catalogueNote: '. The file is created while it downloads.',
} as const;

/** The variants that a check set adds, in sentences. */
function describeCheckSet(kind: 'each-finish' | 'pairs', set: CheckSetFigures): string {
  const all = kind === 'pairs' ? count(set.pairs ?? 0, 'allowed pair') : count(set.finishes ?? 0, 'finish', 'finishes');
  if (set.added === 0) return [`The schedule already shows all ${all}.`, ...describeGaps(kind, set)].join(' ');
  const sentences =
    set.standing === 0
      ? [
          `Adds ${count(set.added, 'variant')} that ${set.added === 1 ? 'shows' : 'show'} all ${all}.`,
          set.added === set.bound
            ? 'This is the smallest possible number.'
            : `Without rules, the smallest possible number is ${formatNumber(set.bound)}.`,
        ]
      : [
          `Adds ${count(set.added, 'variant')} to ${formatNumber(set.standing)} existing ${set.standing === 1 ? 'one' : 'ones'}. Together they show all ${all}.`,
        ];
  return [...sentences, ...describeGaps(kind, set)].join(' ');
}

function describeGaps(kind: 'each-finish' | 'pairs', { impossible, unsettled }: CheckSetFigures): string[] {
  if (impossible === 0) return [];
  const what = kind === 'pairs' ? count(impossible, 'pair') : count(impossible, 'finish', 'finishes');
  return [
    `${what} ${impossible === 1 ? 'has' : 'have'} no valid combination and ${impossible === 1 ? 'is' : 'are'} left out.`,
    ...(unsettled > 0 ? [`For ${formatNumber(unsettled)} of them, the search stopped early.`] : []),
  ];
}
