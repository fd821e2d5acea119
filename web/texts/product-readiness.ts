import { count } from '../../server/core/texts/format-text.ts';

/** Texts of the readiness section: findings, the repairs that resolve them, and their outcome. */
export const readinessTexts = {
  heading: 'Readiness',
  findings: 'Findings',
  noFindings: 'No findings.',
  findingCounts: (errors: number, warnings: number, notes: number) => {
    const counts = [
      errors > 0 && `${count(errors, 'finding')} ${errors === 1 ? 'blocks' : 'block'} delivery`,
      warnings > 0 && `${count(warnings, 'finding')} to check`,
      notes > 0 && count(notes, 'note'),
    ];
    return `${counts.filter(Boolean).join(', ')}.`;
  },
  notesOnly: (notes: number) => `${count(notes, 'note')}, nothing blocks delivery.`,

  // proposed repairs
  repairs: 'Proposed repairs',
  repairsIntro:
    'Dyeworks applies these repairs in order and saves the result as a new revision. You can return to the previous revision. The repairs join the preparation, which runs on every newer export.',
  preview: 'Preview repairs',
  apply: (repairs: number) => (repairs === 1 ? 'Apply repair' : `Apply ${repairs} repairs`),
  previewing: 'Trying the repairs on a copy of the model. A large model takes about a minute.',
  applying: 'Applying the repairs and measuring the result. A large model takes about a minute.',
  nothingTicked: 'No repair is ticked.',
  unfit: 'One repair cannot be applied. Untick it, or accept its losses.',
  outcome: 'Result',
  applied: (revision: number, repairs: number) => `Revision ${revision} is saved, with ${count(repairs, 'repair')}`,
  acceptLosses: (losses: readonly string[]) => `Accept the loss of: ${losses.join(', ')}`,
  lossesAccepted: 'Losses are accepted',

  // repairs of a finding
  separationQuestion: 'Which parts change separately?',
  noSeparation: 'None, keep one slot',
  slotList: (slots: number, names: readonly string[], more: number) =>
    `${count(slots, 'slot')}: ${names.join(', ')}${more > 0 ? ` and ${more} more` : ''}`,
  settledByMerge: 'The proposed merge of loose parts resolves this too.',
  offer: 'Repair:',
  unitQuestion: 'Which unit is right?',
  unitUnknown: 'Not known, keep the size',
  resultingSize: (size: string) => `, giving ${size}`,

  // pieces of a separation
  separationCaption: (material: string) => `New slots for the pieces of ${material}`,
  separationColumns: { slot: 'Slot', pieces: 'Pieces', merge: 'Merge with' },
  slotName: (row: number, pieces: number) => `Name of slot ${row}, ${count(pieces, 'piece')}`,
  mergeSlot: (name: string) => `Merge ${name} with`,
  noMerge: 'no other slot',

  // before and after
  unchangedYet: 'Not applied yet',
  now: 'Now',
  after: 'After',
  same: 'same',
  rows: { size: 'Size, W × D × H', slots: 'Slots', draws: 'Draw calls', triangles: 'Triangles', bytes: 'File size' },
  verdictAfter: 'Verdict after the repairs: ',

  // orientation
  orientation: 'Orientation',
  orientationIntro: 'If the front view does not show the front, turn the product. The turn joins the repairs above.',
  turns: {
    clockwise: 'Turn 90° clockwise, seen from above',
    counterClockwise: 'Turn 90° counter-clockwise',
    forward: 'Tip forward',
    backward: 'Tip backward',
  },
  degrees: 'Degrees',
  axis: 'Axis',
  axes: {
    x: 'about the left–right axis (X)',
    y: 'about the vertical axis (Y)',
    z: 'about the front–back axis (Z)',
  },
  turn: 'Turn',

  // variants of the model, and misnamed variants
  importVariants: 'Import variants',
  importing: 'Importing variants',
  imported: (variants: number, finishes: number) =>
    `Imported ${count(variants, 'variant')} with ${count(finishes, 'finish', 'finishes')}. See the schedule.`,
  replaceQuestion: (variants: number) =>
    `The imported variants replace the ${count(variants, 'variant')} in the schedule.`,
  replaceSchedule: 'Replace schedule',
  template: 'Name template ({slot} becomes the name of its finish)',
  saveFirst: 'Save the schedule first.',
  renameVariants: 'Rename variants',
} as const;
