import { count, formatNumber } from '../../server/core/texts/format-text.ts';
import { isolate } from '../format.ts';

/** Texts of the page of a line. */
export const lineTexts = {
  line: 'Line',
  deleteLine: 'Delete line',
  noProducts: 'The line has no products.',
  saved: 'Saved.',
  savedWithChanges: (changes: readonly string[], more: boolean) =>
    `Saved. Someone else also changed the line: ${changes.join(' ')}${more ? ' …' : ''}`,
  colourCard: 'Colour card',
  statuses: { planned: 'Planned', current: 'Current', 'phase-out': 'Phase-out', discontinued: 'Discontinued' },

  products: {
    heading: 'Products',
    none: 'The line has no products yet. Find an existing one below, or add one on the page of lines and products.',
    oneScale: 'Drawn at the same scale.',
    enlarged: (times: number) => `, enlarged ${times.toFixed(1)}×`,
    bring: 'Bring a product into the line: search by code or name',
    noneFound: 'No other product matches.',
    leaves: (line: string) => `leaves line ${line}`,
    add: 'Add to the line',
    addNamed: (name: string) => `Add to the line: ${name}`,
    added: (name: string) => `${name} is now in the line.`,
  },

  positions: {
    heading: 'Positions',
    note: 'Places that the products of the line share. Labels and options apply to all products.',
    position: 'Position',
    label: 'Label',
    options: 'Options',
    products: 'Products',
    noProduct: 'no product yet',
    labelOf: (position: string) => `Label of ${position}`,
    optionsOf: (label: string) => `Options of ${label}`,
    removePosition: (label: string) => `Remove position ${label}`,
    newPosition: 'New position',
    add: 'Add position',
  },

  range: {
    heading: 'Range',
    empty: 'The range is empty. Products of the line may use any finish.',
    summary: (total: number, byStatus: readonly string[]) =>
      `${count(total, 'finish', 'finishes')}: ${byStatus.join(', ')}.`,
    statusCounts: {
      current: (n: number) => `${formatNumber(n)} current`,
      planned: (n: number) => `${formatNumber(n)} planned`,
      'phase-out': (n: number) => `${formatNumber(n)} in phase-out`,
      discontinued: (n: number) => `${formatNumber(n)} discontinued`,
    },
    hint: 'Select a finish to change its status or discontinue it. Select an article to change all of its finishes.',
    grade: (grade: string | null) => (grade === null ? 'No grade' : `Grade ${grade}`),
    notInLibrary: 'Not in the library',
    noArticle: 'No article',
    planned: 'planned',
    phaseOut: (lastOrder: string | undefined) => (lastOrder === undefined ? 'in phase-out' : `until ${lastOrder}`),
    followedBy: (replacement: string) => `, then ${replacement}`,
    discontinued: 'discontinued',
    replacedBy: (replacement: string) => `, replaced by ${replacement}`,
    hasAll: 'The range has every finish of the library.',
    noFinishes: 'Add finishes to the library first',
    addBy: 'Add finishes by',
    ways: { finish: 'Single finish', article: 'Article', family: 'Family', tag: 'Tag', all: 'All that are left' },
    finishesToAdd: 'Finishes to add',
    choice: (label: string, n: number) => (n === 1 ? label : `${label} (${formatNumber(n)})`),
    gradeOfNew: 'Price grade (optional)',
    addFinishes: (n: number) => `Add ${count(n, 'finish', 'finishes')}`,
  },

  // an open finish or article of the range
  entry: {
    priceGrade: 'Price grade',
    statusOf: (name: string) => `Status of ${name}`,
    lastOrder: 'Last order date',
    replacement: 'Replacement',
    replacementOf: (name: string) => `Replacement of ${name}`,
    nameAndCode: (name: string, code: string) => `${isolate(name)}, ${code}`,
    removeFromRange: 'Remove from range',
    removeNamed: (name: string) => `Remove from range: ${name}`,
    allFinishes: (article: string, n: number) =>
      `${article}: ${n === 1 ? '1 finish' : `all ${formatNumber(n)} finishes`}`,
    gradeOfAll: (article: string) => `Price grade of all finishes of ${article}`,
    statusOfAll: (article: string) => `Status of all finishes of ${article}`,
    mixed: 'Mixed',
  },

  uses: {
    schedules: (products: readonly (readonly [product: string, variants: number])[]) =>
      `Used in ${products.length === 1 ? 'the schedule' : 'the schedules'} of ${listAll(
        products.map(([product, variants]) => `${product} (${count(variants, 'variant')})`),
      )}.`,
    noSchedule: 'Not used in any schedule.',
    deliveries: (deliveries: readonly (readonly [product: string, number: number])[]) =>
      `Used in ${deliveries.length === 1 ? 'the delivery' : 'the deliveries'} ${listAll(
        deliveries.map(([product, number]) => `${product} no. ${number}`),
      )}.`,
    options: (positions: readonly string[]) => `Listed in the options of ${listAll(positions)}.`,
    rule: (rule: string) => `Named in the rule: ${rule}.`,
    replaces: (finishes: readonly string[]) => `Replaces ${listAll(finishes)}.`,
    otherLines: (lines: readonly string[]) => `Also in the ${lines.length === 1 ? 'line' : 'lines'} ${listAll(lines)}.`,
    companionOf: (leaders: readonly (readonly [leader: string, positions: readonly string[]])[]) =>
      `Companion of ${listAll(leaders.map(([leader, positions]) => `${leader} (on ${listAll(positions)})`))}.`,
  },

  discontinue: {
    heading: 'Discontinuation',
    note: 'Without a replacement, the variants with this finish are withdrawn. With a replacement, new variants with new codes take over.',
    preview: 'Preview',
    confirm: (finish: string) => `Discontinue ${finish}`,
    undo: (finish: string) => `Undo: discontinue ${finish}`,
    undone: (finish: string) => `${finish} is in the range as before, and so are the schedules that used it.`,
    step: (finish: string) => `discontinued ${finish}`,
    notRestored: (finish: string, products: readonly string[]) =>
      `${finish} is in the range as before. These schedules stay as they are, because they changed since at the same places: ${listAll(products)}.`,
    lead: (finish: string, replacement: string | null, done: boolean, isUsed: boolean) =>
      `${finish} ${done ? 'is' : 'will be'} discontinued ${
        replacement === null ? 'without a replacement' : `and replaced by ${replacement}`
      }.${isUsed ? '' : ' No schedule uses it.'}`,
    remaining: (variants: number) => `${count(variants, 'variant')} ${variants === 1 ? 'remains' : 'remain'}.`,
    sameDefault: 'The default variant stays the same.',
    movedDefault: (from: string, to: string | null, done: boolean) =>
      `The default variant ${done ? 'has changed' : 'will change'} from ${from} to ${to ?? 'none'}.`,
    withdrawn: (done: boolean) => (done ? 'withdrawn' : 'will be withdrawn'),
    deliveryDue: (product: string, delivery: number) =>
      `The latest delivery of ${product} (no. ${delivery}) still contains this finish. Make a new delivery.`,
    picturesDue: (product: string, variants: readonly string[]) =>
      `${count(variants.length, 'variant')} of ${product} ${variants.length === 1 ? 'needs' : 'need'} new pictures: ${listAll(variants)}.`,
  },

  rules: {
    heading: 'Rules',
    tooFewPositions: 'A rule connects two positions. Add positions first.',
    none: 'No rules. All options can be combined.',
    note: 'Rules state which finishes go together, for every product that has slots at both positions. Select a rule to change it.',
    number: 'No.',
    rule: 'Rule',
    appliesTo: 'Applies to',
    noProduct: 'no product yet',
    counting: '…',
    add: 'Add rule',
    saveRule: 'Save rule',
    deleteRule: 'Delete rule',
    position: 'Position',
    otherPosition: 'Other position',
    finishesBy: 'Finishes by',
    finishesAtBy: (position: string) => `Finishes at ${position} by`,
    value: 'Value',
    valueAt: (position: string) => `Value at ${position}`,
    relation: 'Relation',
    relations: {
      excludes: 'never goes with',
      requires: 'goes only with',
      sameAs: 'passes its finish to',
      companion: 'passes its companion to',
    },
    ways: { any: 'Any finish', finish: 'Finish', family: 'Family', tag: 'Tag', grade: 'Grade' },
    noCompanion: 'No finish at this position has a companion yet. Add companions on the page of finishes.',
    changedMeanwhile: 'Someone else changed or deleted this rule. The list shows the current rules.',
  },

  effects: {
    combinations: 'Valid combinations',
    invalidVariants: 'Variants that break a rule',
    unusable: 'Unusable finishes',
    counting: 'Counting …',
    withoutRules: (n: string) => `of ${n} without rules`,
    before: (combinations: string) => `; ${combinations} before the last change`,
    breaking: (n: number, variants: number) => (n === 0 ? 'none' : `${formatNumber(n)} of ${formatNumber(variants)}`),
    none: 'none',
    choice: (label: string, finish: string) => `${label} ${finish}:`,
    more: (n: number) => `and ${count(n, 'more finish', 'more finishes')}`,
  },

  approvals: {
    heading: 'Approval of variants',
    note: 'Choose a variant, look at it, and record a decision.',
    noVariants: 'No product of the line has variants yet. Add them to the schedule of a product.',
    product: 'Product of the variant',
    variant: 'Variant',
    choose: 'Choose …',
    undecided: 'no decision',
    summary: (approved: number, variants: number) =>
      `${formatNumber(approved)} of ${count(variants, 'variant')} approved.`,
  },

  pictures: {
    heading: 'Pictures',
    notReady: 'No product has both a model and a schedule yet.',
    note: 'Makes a studio picture of every variant of every product. The background is transparent in PNG and WebP, and white in JPEG. The pictures are stored with permanent URLs.',
    makeAll: 'Make all pictures',
    caption: (product: string, variant: string) => `${product}, ${variant}`,
  },
} as const;

/** `a, b and c` */
function listAll(words: readonly string[]): string {
  return words.length < 2 ? words.join('') : `${words.slice(0, -1).join(', ')} and ${words.at(-1)}`;
}
