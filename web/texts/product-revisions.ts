import { count } from '../../server/core/texts/format-text.ts';

/** Texts of a product's preparation, of its model's revisions, and of a newer export that arrives. */
export const revisionsTexts = {
  // preparation
  preparation: 'Preparation',
  noSteps: 'No steps. Newer exports are used as received.',
  stepsIntro: (steps: number) =>
    `${count(steps, 'step')}, applied in this order to every newer export of this product.`,
  unfitSteps: 'Steps that could not be applied',
  replay: 'Apply again to the received model',
  replaying: 'Applying the steps and measuring the result. A large model takes about a minute.',
  differs: 'The current revision was made with different steps.',
  saveSteps: 'Save steps',
  replayed: (revision: number) => `Revision ${revision} is saved, made again from the received model`,
  up: 'Up',
  down: 'Down',
  ofStep: (step: number) => ` step ${step}`,

  // a newer export
  arrived: (revision: number) => `Revision ${revision} has arrived`,
  uploading: 'Model upload',
  measuring: 'Uploaded. Dyeworks is reading, measuring and preparing the model. A large model takes about a minute.',
  notCurrent: (size: string) => `${size}. This revision is not current until you choose it.`,
  preparationOf: (steps: number) => `Preparation, ${count(steps, 'step')}`,
  verdict: 'Verdict: ',
  use: 'Use this revision',
  switching: 'Switching to this revision.',
  isCurrent: (revision: number) => `Revision ${revision} is now current.`,
  leftAlone: (revision: number) =>
    `Nothing has changed. You can choose revision ${revision} later in the list of revisions.`,

  // revisions
  model: 'Model',
  noModel: 'No model yet.',
  modelIntro: 'Each export and each set of repairs is a revision. Slots, options and schedule stay when you switch.',
  columns: {
    number: 'No.',
    origin: 'Origin',
    date: 'Date',
    size: 'Size, W × D × H',
    triangles: 'Triangles',
    draws: 'Draw calls',
    bytes: 'File size',
    file: 'File',
    current: 'Current',
  },
  glb: 'GLB',
  ofRevision: (revision: number) => ` of revision ${revision}`,
  current: 'Current',
  goBack: 'Go back to this revision',
  revisionNumber: (revision: number) => `, revision ${revision}`,
  dropFirst: 'The product has no model yet. Drop one anywhere on this page: GLB, glTF or zip.',
  dropNewer: 'Drop a newer export anywhere on this page. Dyeworks shows what changes before you use it.',
  uploadRunning: 'A model is being uploaded. See the top of this page.',

  // removing the product
  deleteProduct: 'Delete product',
  deleteQuestion: (code: string) => `Delete ${code} with its models, schedule and deliveries? This cannot be undone.`,
} as const;
