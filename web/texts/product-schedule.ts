import { count, formatNumber } from '../../server/core/texts/format-text.ts';
import type { CheckSetFigures } from '../../server/http/contracts/schedule.ts';

/** Texts of a product's schedule: variants, their choices, and ways to add them. */
export const scheduleTexts = {
  heading: 'Schedule',
  empty: 'No variants yet. Add one, or expand the options.',
  intro: (variants: number) =>
    `${count(variants, 'variant')}. Type a finish over a cell, or press Enter to choose one.`,
  allowed: (combinations: string) => ` Options and rules allow ${combinations}.`,
  unusedFinishes: (finishes: number) =>
    `${count(finishes, 'finish', 'finishes')} on offer ${finishes === 1 ? 'has' : 'have'} no valid combination`,

  // grid
  columns: {
    picture: 'Picture',
    code: 'Code',
    name: 'Name in delivered file',
    gtin: 'GTIN',
    approval: 'Approval',
    state: 'State',
  },
  grid: (product: string) => `Schedule of ${product}`,
  states: {
    saved: 'Saved',
    changed: 'Changed',
    new: 'New',
    problem: 'Problem',
    notAllowed: 'not allowed',
    misnamed: 'name does not fit',
  },
  stateAnd: (state: string, more: string) => `${state}, ${more}`,
  approvals: {
    none: '',
    submitted: 'Submitted',
    approved: 'Approved',
    rejected: 'Rejected',
    lapsed: 'Lapsed',
  },
  noFinish: 'no finish',
  isDefault: 'default variant',
  finishWords: (name: string, code: string) => (code === '' ? '' : `${name} ${code}`),
  editCell: (column: string, row: number) => `${column} of row ${row}`,
  sortedBy: (descending: boolean) => (descending ? 'descending' : 'ascending'),
  filtered: 'filtered',
  resize: (column: string) => `Width of ${column}`,
  columnButton: (column: string) => `${column}: sort, filter and width`,
  variantPictures: 'Pictures of the variants',
  variantAlt: (name: string) => `Variant ${name}`,
  newVariant: 'New variant',
  makeDefault: 'Make default',
  duplicate: 'Duplicate',
  remove: 'Remove',

  // keys
  keys: 'Keys',
  keyList: [
    ['Arrows, Home, End, Page up, Page down', 'move; with Shift, select'],
    ['Letters and digits', 'find a finish by code or name, or write into a text'],
    ['Enter', 'choose or set; in a column head, sort and filter'],
    ['Delete', 'clear; a code or name follows the template again'],
    ['Escape', 'leave without a change'],
    ['Tab', 'leave the grid'],
    ['F8, Shift F8', 'next or previous empty cell'],
    ['Ctrl C, X, V', 'copy, cut and paste, also with a spreadsheet'],
    ['Ctrl D', 'fill down'],
    ['Ctrl Shift D, Ctrl Delete', 'duplicate or remove the selected rows'],
    ['Alt and an up or down arrow', 'move the selected rows'],
    ['Ctrl A, Ctrl space, Shift space', 'select all, the column, the row'],
    ['Ctrl F, F3', 'find, next hit'],
    ['Ctrl Z, Y, S', 'undo, redo, save'],
  ] as readonly (readonly [keys: string, does: string])[],

  // the line below the grid
  selectedCells: (rows: number, columns: number) => `${count(rows, 'row')} × ${count(columns, 'column')} selected`,
  shownRows: (shown: number, all: number) => `${formatNumber(shown)} of ${count(all, 'row')} shown`,
  emptyCells: (cells: number) => (cells === 0 ? 'No empty cells' : count(cells, 'empty cell')),
  nextEmpty: 'Next empty cell (F8)',
  rowsOf: 'Selected rows:',
  fillDown: 'Fill down',
  notAllowedRows: (rows: number) => `${count(rows, 'row')} ${rows === 1 ? 'breaks' : 'break'} options or rules.`,
  goToNext: 'Go to the next',
  misnamedRows: (rows: number) =>
    `${count(rows, 'row')} ${rows === 1 ? 'has a name that does not fit its' : 'have names that do not fit their'} finishes.`,
  fixNames: (rows: number) => (rows === 1 ? 'Rename it' : `Rename all ${formatNumber(rows)}`),
  misnamed: (says: string) => `The name says ${says}, which this variant does not have.`,
  notShown: 'No row passes the filters.',
  rowHead: (row: number, name: string) => `Row ${row}, ${name}`,
  lapsed: (because: string) => `The approval has lapsed. ${because}`,
  follow: (finish: string, slot: string) => `Use ${finish} for ${slot}`,
  cleared: (cells: number) => `${count(cells, 'cell')} cleared.`,
  copied: (rows: number, columns: number) => `${count(rows, 'row')} × ${count(columns, 'column')} copied.`,
  pasted: (cells: number, added: number) =>
    `${count(cells, 'cell')} changed${added > 0 ? `, ${count(added, 'row')} added` : ''}.`,
  setTo: (finish: string, cells: number) => `${finish} in ${count(cells, 'cell')}.`,
  unreadCells: (cells: number) => `${count(cells, 'cell')} could not be read. Use the code or the name of a finish:`,
  unreadCell: (row: number, column: string, text: string) => `row ${row}, ${column}: “${text}”`,
  nothingToPaste: 'The clipboard has no text. Copy cells in the spreadsheet first.',

  // find, filter, sort
  find: 'Find',
  hits: (at: number, all: number) =>
    all === 0 ? 'not found' : at === 0 ? formatNumber(all) : `${at} of ${formatNumber(all)}`,
  nextHit: 'Next',
  previousHit: 'Previous',
  filterBy: (column: string, values: readonly string[], rows: number) =>
    `${column}: ${values.join(', ')}, ${formatNumber(rows)}`,
  showAll: 'Show all rows',
  columnTitle: (column: string) => `Column ${column}`,
  sort: 'Sort',
  ascending: 'A to Z',
  descending: 'Z to A',
  unsorted: 'As in the schedule',
  keepOrder: 'Keep this order in the schedule',
  showRowsWith: 'Show rows with',
  searchValues: 'Search these',
  emptyValue: '(empty)',
  widthPx: 'Width in pixels',
  clearFilter: 'Show all of this column',

  // choosing a finish
  chooseFor: (slots: readonly string[], rows: number) =>
    `${slots.join(', ')}${rows > 1 ? `, ${count(rows, 'row')}` : ''}`,
  searchFinish: 'Find by code, name or article',
  finishes: 'Finishes',
  recent: 'Recent',
  currentFinish: 'now',
  notAnOption: (finish: string) => `${finish} is no longer an option of this slot. Choose another finish.`,
  noOptions: (slot: string) => `${slot} has no options. Choose grades, families or finishes on the sheet “Parts”.`,
  noMatch: (text: string) => `No finish on offer has “${text}” in its code, name or article.`,
  family: (name: string, grade: string | null) => (grade === null ? name : `${name}, grade ${grade}`),
  grade: (grade: string) => `grade ${grade}`,
  keepOriginal: 'No finish (keep the original material)',
  set: 'Set',
  pickSlot: 'Select a cell of a slot first.',
  swatchOf: (finish: string) => `Swatch of ${finish}`,

  // replacing
  replace: 'Replace a finish',
  replaceIn: (rows: number, columns: number) => `In ${count(rows, 'row')} × ${count(columns, 'column')}`,
  replaceAll: 'In all rows shown',
  this: 'This finish',
  by: 'By this one',
  replacePlan: (cells: number, rows: number) => `${count(cells, 'cell')} in ${count(rows, 'row')} would change:`,
  replaceNone: 'These cells have no finish to replace.',
  against: (rows: number) =>
    `${count(rows, 'row')} would break options or rules. You can still replace, and correct them afterwards.`,
  replaceNow: (cells: number) => `Replace ${count(cells, 'cell')}`,
  change: (row: string, slot: string, from: string, to: string) => `${row}, ${slot}: ${from} becomes ${to}`,

  // files
  importCsv: 'Import CSV',
  exportCsv: 'Export CSV',
  importTitle: (file: string) => `Import ${file}`,
  importHint: 'A CSV file with the columns code, name, one for each slot, and GTIN. Rows are matched by their code.',
  noCodes: 'The file has no column “code”. Add one to its first line: rows are matched by it.',
  repeatedCodes: (rows: readonly (readonly [row: number, code: string])[], more: boolean) =>
    `These rows are left out, since a row above has the same code: ${rows.map(([row, code]) => `row ${row}, ${code}`).join('; ')}${more ? ' …' : '.'}`,
  unknownColumns: (columns: readonly string[]) => `These columns are left out: ${columns.join(', ')}.`,
  importChanges: (cells: number, added: number, absent: number) =>
    `${count(cells, 'cell')} would change, ${count(added, 'row')} would be added. The file does not have ${count(absent, 'row')} of the schedule.`,
  importNothing: 'The file says what the schedule says already.',
  removeAbsent: (rows: number) =>
    `Remove ${rows === 1 ? 'the row' : `the ${formatNumber(rows)} rows`} that the file does not have`,
  importNow: 'Import into the draft',
  imported: (file: string) => `${file} is imported. Save the schedule to store it.`,

  // template
  template: 'Codes and names',
  templateHint:
    'A slot in braces stands for its finish: {seat} becomes the name of the finish in names, and its code in codes. Codes and names that follow the template change with their finishes. One that you write yourself stays.',
  nameOfTemplate: 'Names',
  codeOfTemplate: 'Codes',
  templateSlots: (slots: readonly string[]) => `Slots: ${slots.map((slot) => `{${slot}}`).join(' ')}`,
  templateNames: (rows: number) => `Rename all ${count(rows, 'row')} by the template`,
  keepTemplate: 'Use the template',
  overridden: (rows: number) =>
    `${count(rows, 'row')} ${rows === 1 ? 'has a name of its own' : 'have names of their own'}.`,

  // steps, for undo
  steps: {
    edit: 'edit',
    finish: 'finish of a cell',
    finishes: (cells: number) => `finish of ${count(cells, 'cell')}`,
    text: 'text of a cell',
    clear: 'cleared cells',
    cut: 'cut cells',
    paste: 'pasted cells',
    fill: 'fill down',
    replace: 'replaced finish',
    add: 'new variant',
    duplicate: 'copies of rows',
    move: 'moved rows',
    remove: 'removed rows',
    makeDefault: 'default variant',
    order: 'order of rows',
    rename: 'new names',
    template: 'template',
    import: 'import',
    save: 'save',
    merge: 'settled conflict',
    expand: 'expanded options',
    checkSet: 'check set',
    discard: 'discarded changes',
  },

  // kept and merged drafts
  restored: (changes: string) => `Your edits of an earlier visit are back. ${changes}`,
  merged: (rows: number) =>
    `Someone else saved this schedule in the meantime. Their changes in ${count(rows, 'row')} and yours are both kept.`,
  undoMet:
    'Someone else saved this schedule in the meantime, so this step is not undone on the service. Save to store what you see.',
  serverAway: (isKept: boolean) =>
    isKept
      ? 'The service does not answer. Your edits are kept in this browser, also over a reload. Save again when it is back.'
      : 'The service does not answer. This browser keeps no data, so leave this page open, and save again when the service is back.',
  fixFirst: (rows: number) =>
    `${count(rows, 'row')} cannot be saved yet. The column “State” says which, and the line below the grid says why.`,
  conflict: 'Changed by two people',
  settleFirst:
    'Someone else changed the same cells. Choose what to keep under “Changed by two people” first; that saves, too.',
  conflictIntro: (clashes: number) =>
    `Someone else saved this schedule while you edited it. ${count(clashes, 'cell')} ${clashes === 1 ? 'differs' : 'differ'}. Everything else is merged. Choose what to keep in each.`,
  conflictColumns: { where: 'Cell', before: 'Before', mine: 'Mine', theirs: 'Theirs' },
  rowRemoved: 'removed',
  allMine: 'All mine',
  allTheirs: 'All theirs',
  settle: 'Save this choice',
  wholeRow: 'whole row',
  defaultVariant: 'Default variant',

  // changes
  changed: (rows: number) => `${count(rows, 'row')} changed`,
  added: (rows: number) => `${count(rows, 'row')} added`,
  removed: (rows: number) => `${count(rows, 'row')} removed`,
  reordered: 'order changed',
  defaultChanged: 'default changed',
  templateChanged: 'template changed',
  unsaved: (changes: readonly string[]) => `Not saved: ${changes.join(', ')}.`,
  addRow: 'Add variant',
  saveSchedule: 'Save schedule',
  saved: (variants: number) => `Saved, ${count(variants, 'variant')}.`,
  addedVariants: (variants: number) => `${count(variants, 'variant')} added.`,
  nothingAdded: 'The schedule already has all of these variants.',
  needsVariant: 'A schedule needs at least one variant. Add one before you save.',

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
