import type { CombinationCount } from '../../server/core/combinations/count-combinations.ts';
import type { Verdict } from '../../server/core/product/verdict.ts';
import { count, formatNumber } from '../../server/core/texts/format-text.ts';

const VERDICTS: Readonly<Record<Verdict, string>> = {
  ready: 'Ready to deliver',
  attention: 'Needs attention',
  blocked: 'Blocked',
};

/** Words and sentences that several pages share, and those of the shared parts. */
export const commonTexts = {
  // buttons
  save: 'Save',
  cancel: 'Cancel',
  close: 'Close',
  add: 'Add',
  remove: 'Remove',
  discard: 'Discard changes',
  tryAgain: 'Try again',
  showMore: 'Show more',
  chooseFile: 'Choose a file',
  moveUp: 'Move up',
  moveDown: 'Move down',

  // a change that someone else came before
  changedByOthers:
    'Someone else changed this after you opened it, so your change is not saved. Your input is still here: overwrite their version with it, or reload to discard it.',
  overwrite: 'Overwrite with mine',
  reload: 'Discard mine and reload',

  // labels and column heads
  article: 'Article',
  class: 'Class',
  code: 'Code',
  family: 'Family',
  finish: 'Finish',
  format: 'Format',
  line: 'Line',
  name: 'Name',
  product: 'Product',
  size: 'Size',
  status: 'Status',
  variants: 'Variants',

  // values
  none: 'None',
  noneYet: 'none yet',
  notKnown: 'not known',
  notRecorded: 'not recorded',
  notStated: 'Not stated',
  noLine: 'No line',
  noClass: 'None of these',

  // progress
  allSaved: 'All changes are saved.',
  notSaved: 'Not saved yet.',
  uploading: (share: number) => `Uploading, ${Math.round(share * 100)} %`,
  uploaded: 'Uploaded',
  showMoreOf: (left: number, noun: string) => `Show more (${count(left, noun)} left)`,
  /** Ends a list of which only the first few are shown. */
  more: (n: number) => `and ${formatNumber(n)} more`,

  /** A count of combinations, or its bounds. */
  combinations: (counted: CombinationCount) => {
    if (!counted.exact) return `${formatNumber(counted.lower)}–${formatNumber(counted.upper)} combinations`;
    if (counted.count === 0n) return 'no combinations';
    return `${formatNumber(counted.count)} ${counted.count === 1n ? 'combination' : 'combinations'}`;
  },

  /** A product's verdict; one without a model has none yet. */
  verdict: (verdict: Verdict, hasModel = true) => (hasModel ? VERDICTS[verdict] : 'No model yet'),
  severities: {
    error: 'Blocks delivery',
    warning: 'Check this',
    note: 'Note',
  },
  findings: {
    figures: (seen: unknown, expected: unknown) => `; found ${seen}, expected ${expected}`,
  },
  shell: {
    product: 'Dyeworks',
    pages: 'Pages',
    home: 'Lines and products',
    finishes: 'Finishes',
    pictureSets: 'Picture sets',
    units: 'Units',
    millimetres: 'Millimetres',
    inches: 'Inches',
    missingPage: 'Page not found',
    missingNote: 'There is no page at this address. Check the address, or begin at lines and products.',
    notLoaded: 'This page could not be loaded. The service may be away, or newer than the page. Reload to try again.',
    reload: 'Reload',
    missingStart: 'Go to lines and products',
  },
  errors: {
    unreachable: 'The service does not answer. Check that it is running, then try again.',
    serviceFailed: 'The service could not do this. Try again in a moment.',
    refusedWithoutReason: 'The service refused this and gave no reason. Reload the page, then try again.',
    notAModel: (fileName: string) =>
      `“${fileName}” is not a .glb, .gltf or .zip file. Export the model as GLB, then choose that file.`,
  },
  picture: {
    missing: 'No picture',
    waiting: 'Loading picture',
  },
  drop: {
    release: 'Drop the file now.',
    packing: 'Dyeworks is packing the files of the model.',
    empty: 'There is no file in this folder. Drop the model, or the folder that contains it.',
    noModel:
      'None of these files is a model. Drop a .glb or .zip file, or a .gltf file together with its textures and other files.',
    severalModels: (paths: readonly string[]) =>
      `More than one model was dropped: ${paths.slice(0, 3).join(', ')}${paths.length > 3 ? ' and others' : ''}. Drop one at a time.`,
    missing: (fileName: string, missing: readonly string[]) =>
      `“${fileName}” also needs ${missing.slice(0, 5).join(', ')}${missing.length > 5 ? ` and ${formatNumber(missing.length - 5)} more` : ''}. Drop ${missing.length === 1 ? 'this file' : 'these files'} together with it, or drop the whole folder.`,
  },
  sheets: {
    a4: 'A4',
    letter: 'Letter',
    a4Press: 'A4 for press (PDF/X-4, 3 mm bleed)',
    letterPress: 'Letter for press',
    ofSheet: (label: string) => ` of ${label.toLowerCase()}`,
  },
  options: {
    intro: (otherwise: string) =>
      `A finish is allowed if any of these lists includes it. Without any tick: ${otherwise}.`,
    grades: 'Grades',
    families: 'Families',
    tags: 'Tags',
    finishes: 'Single finishes',
    gradeList: (grades: readonly string[]) => `${grades.length === 1 ? 'grade' : 'grades'} ${grades.join(', ')}`,
    tagList: (tags: readonly string[]) => `tagged ${tags.join(', ')}`,
    codeList: (codes: readonly string[], more: number) =>
      codes.join(', ') + (more > 0 ? ` and ${formatNumber(more)} more` : ''),
    nothing: 'Nothing yet',
    wholeRange: 'Whole range',
    sameAs: (position: string) => `Same as ${position}`,
  },
} as const;
