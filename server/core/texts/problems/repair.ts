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
  'repair-unfit': {
    unexpected: (repair: string) =>
      `${repair}: the model contains something that this repair cannot handle, so Dyeworks changed nothing. Leave the repair out.`,
    ofRepair: (repair: string, reason: string) => `${repair}: ${reason}`,
  },
  'repair-would-lose': (losses: readonly string[]) =>
    `The repair would lose ${losses.join(', ')}. Set “accept” to true to make it anyway.`,
  'invalid-repair': {
    unknownName: 'There is no repair with this name. Use one of the listed names.',
    scaleTarget: 'A scale repair needs either a factor or a target height. Give one of them.',
    pieceTwice: (piece: string) => `The groups contain the piece ${piece} twice. Keep it once.`,
    piecesOrMaterials:
      'This repair turns either pieces or materials outward, but both are given. Keep one; leave both out for the whole model.',
    nameLikePointer: 'A name cannot start with /materials/, because such text is a pointer. Choose another name.',
    reference: (kind: string, example: string) =>
      `This is not a reference to a ${kind}. Give its name or its pointer, such as ${example}.`,
    pieceId: 'The identifier of a piece or shape must have twelve hexadecimal digits. Copy it from the survey.',
    partName: 'This is not a name of a part. Give the name of its node or mesh in the model.',
    groupTwice: (name: string) => `Two groups have the name “${name}”. Give each its own name.`,
    renamingTwice: (name: string) => `The list renames the material “${name}” twice. Keep one entry.`,
    notAList: (low: number, high: number, items: string) =>
      `This field must be a list of ${low} to ${high} ${items}. Correct the list.`,
    notAnObject: (what: string) => `${what} must be an object. Correct its value.`,
    unknownField: (what: string, field: string) => `${what} of this kind has no field “${field}”. Leave it out.`,
    field: (what: string, field: string, expected: string) =>
      `${what} needs “${field}” to be ${expected}. Correct its value.`,
  },
  'repair-broke-model': (codes: string, first: string | null) =>
    `The repair would add glTF validator errors (${codes}${first === null ? '' : `: ${first}`}), so Dyeworks changed nothing. Leave out the repair that causes them, and report it to us.`,
  'stale-model': (now: number | null, meant: number | null) =>
    `The model ${now === null ? 'has no revision' : `is now at revision ${now}`}, but this change was made for ${
      meant === null ? 'a product without a model' : `revision ${meant}`
    }. Look at the current model, then repeat the change.`,
} as const satisfies ProblemTexts;
