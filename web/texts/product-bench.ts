import { count } from '../../server/core/texts/format-text.ts';

/** Texts of the bar of a product's page, and of what can be undone on it. */
export const benchTexts = {
  bar: 'Product',
  sheets: 'Sheets',
  sheetNames: { model: 'Model', parts: 'Parts', schedule: 'Schedule', deliver: 'Deliver' },

  // states
  noModel: 'no model yet',
  revision: (revision: number, findings: string) => `revision ${revision}, ${findings}`,
  nothingToCheck: 'nothing to check',
  toCheck: (findings: number) => `${findings} to check`,
  blocking: (findings: number) => count(findings, 'finding blocks it', 'findings block it'),
  slots: (slots: number, without: number) =>
    `${count(slots, 'slot')}${without > 0 ? `, ${without} without options` : ''}`,
  noVariants: 'no variants yet',
  variants: (variants: number, unsaved: number) =>
    `${count(variants, 'variant')}${unsaved > 0 ? `, ${count(unsaved, 'row')} not saved` : ''}`,
  notSaved: 'not saved',
  noDelivery: 'none yet',
  delivery: (delivery: number) => `delivery ${delivery}`,
  upToDate: (delivery: number) => `delivery ${delivery}, up to date`,
  outdated: (delivery: number, variants: number) =>
    `delivery ${delivery}, out of date${variants > 0 ? `: ${count(variants, 'variant differs', 'variants differ')}` : ''}`,

  // actions
  undo: 'Undo',
  redo: 'Redo',
  undoStep: (label: string) => `: ${label}`,
  nothingToUndo: 'There is nothing to undo.',
  nothingToRedo: 'There is nothing to redo.',
  deliver: 'Deliver',
  dropHere: 'Drop the file now. You see its changes before you use it.',

  // steps that can be undone
  steps: {
    product: {
      name: 'name of the product',
      line: 'line',
      class: 'class',
      mount: 'mount',
      sheet: 'data-sheet size',
      budget: 'budget',
    },
    slot: {
      label: (slot: string) => `label of ${slot}`,
      position: (slot: string) => `position of ${slot}`,
      options: (slot: string) => `options of ${slot}`,
      fixed: (slot: string) => `whether ${slot} is fixed`,
      grainDegrees: (slot: string) => `direction of ${slot}`,
      keep: (slot: string) => `kept maps of ${slot}`,
    },
    repairs: (revision: number) => `repairs, revision ${revision}`,
    useRevision: (revision: number) => `use of revision ${revision}`,
    replay: 'preparation applied again',
    editPreparation: 'edited preparation',
    savePreparation: 'saved preparation',
  },
} as const;
