import type { ProblemTexts } from '../../problems.ts';
import { count, formatNumber, pick } from '../format-text.ts';

/** Texts about products, their slots, lines, budgets and schedules. */
export const PRODUCT_PROBLEMS = {
  'unknown-product': {
    byCode: (code: string) =>
      `There is no product with the code “${code}”. Check the code against the list of products.`,
    deleted:
      'The product was deleted in the meantime, so this change was not saved. Create the product again if you need it.',
  },
  'unknown-line-code': (code: string) =>
    `There is no line with the code “${code}”. Check the code against the list of lines.`,
  'unknown-line': (code: string) => `There is no line with the code “${code}”. Create it first, or leave the line out.`,
  'unknown-budget': (name: string) =>
    `There is no budget “${name}”. Use one of the existing budgets, or create this one first.`,
  'unknown-variant': (product: string, code: string) =>
    `The schedule of ${product} has no variant “${code}”. Check the code against the schedule.`,
  'unknown-slot-key': {
    known: (key: string, slots: readonly string[]) =>
      `The product has no slot “${key}”. Its slots are ${slots.join(', ')}. Use one of them.`,
    noModel: (key: string) => `The product has no slot “${key}”, because it has no model yet. Add a model first.`,
  },
  'unknown-slot': {
    ofProduct: (key: string, slots: readonly string[]) =>
      `The product has no slot “${key}”. Its slots are ${slots.join(', ')}. Use one of them.`,
    notChanging: (key: string, slots: readonly string[]) =>
      `“${key}” is not a slot that changes finish. Use one of ${slots.join(', ')}.`,
    closeUp: (product: string, key: string) =>
      `${product} has no visible slot “${key}” for a close-up. Use another slot, or a view of the whole product.`,
  },
  'unknown-position': {
    ofLine: (line: string, position: string) =>
      `The line ${line} has no position “${position}”. Add the position to the line, or use another.`,
    noLine: 'The product belongs to no line, so it has no positions. Assign a line first.',
    inRule: (position: string, known: readonly string[]) =>
      `The line has no position “${position}”. ${known.length > 0 ? `Use one of ${known.join(', ')}.` : 'Add positions first.'}`,
  },
  'no-model': (code: string) => `${code} has no model yet. Add its model first.`,
  'no-schedule': (code: string) =>
    `${code} has no variants yet. Write its schedule, or create variants from the options.`,
  'not-found': {
    budget: (name: string) => `There is no size budget “${name}”. Check the name against the list of budgets.`,
    noSchedule: (code: string) => `${code} has no schedule yet. Write one, or create variants from the options.`,
  },
  'duplicate-code': {
    product: (code: string) =>
      `A product with the code “${code}” already exists. Choose another code, or change that product.`,
    variant: (code: string) =>
      `Two variants have the code “${code}”. Codes that differ only in case count as the same. Give each variant its own code.`,
    listed: (code: string) =>
      `The list contains “${code}” twice. Codes that differ only in case count as the same. Keep one of them.`,
  },
  'duplicate-name': (name: string, first: string, second: string) =>
    `The variants ${first} and ${second} have the same name, “${name}”. Viewers select a variant by its name. Give each its own.`,
  'duplicate-gtin': (gtin: string, first: string, second: string) =>
    `The variants ${first} and ${second} have the same GTIN, ${gtin}. A GTIN identifies one trade item. Give each variant its own, or leave it out.`,
  'unknown-default': (code: string, variants: number) =>
    `The default variant “${code}” is not one of the ${variants} variants. Choose one from the schedule.`,
  'slot-is-fixed': (label: string) =>
    `The slot “${label}” is fixed and keeps its material. Leave it out, or allow the slot to change.`,
  'too-many-variants': {
    exact: (count: string, limit: number) =>
      `The options give ${count} variants; ${limit} are allowed. Narrow the options, or leave slots out.`,
    more: (limit: number) =>
      `The options give more than ${limit} variants, which is the limit. Narrow the options, or leave slots out.`,
    search:
      'The rules allow so few of the many combinations that Dyeworks could not try them all. Narrow the options, or leave slots out.',
    pictures: (count: number, limit: number) =>
      `The job would make ${count} pictures; ${limit} are allowed. Choose fewer variants, views or sizes.`,
    files: (count: number, limit: number) =>
      `The job would make ${count} files; ${limit} are allowed. Choose some of the variants.`,
  },
  'nothing-to-expand': {
    noOptions: (labels: string) => `No finish is allowed on ${labels}. Add options to the slot or to its position.`,
    noSlot: 'The product has no slot that changes finish. Allow at least one slot to change.',
    rules: (reason: string | null, hasFixed: boolean) =>
      `The rules of the line allow no combination of these slots.${reason ? ` ${reason}` : ''} Change a rule${
        hasFixed ? ', the options, or the default variant' : ', or the options'
      }.`,
  },
  'line-in-use': (products: number) =>
    `${count(products, 'product')} ${pick(products, 'belongs', 'belong')} to the line. Move ${pick(products, 'it', 'them')} to another line first.`,
  'invalid-rule': {
    oneKind: (kinds: readonly string[]) =>
      `A rule has exactly one of excludes, requires, sameAs and companion. This one has ${kinds.join(' and ') || 'none'}. Write one rule for each.`,
    oneWay: (ways: readonly string[]) =>
      `A rule selects the finishes of a position in one way, but this one uses ${ways.join(' and ')}. Keep one, or write several rules.`,
    samePosition: (position: string) =>
      `A rule connects two positions, but this one connects “${position}” to itself. Use another position, or narrow the options of this one.`,
    noFinishes: (kind: string) =>
      `The rule does not say which finishes it ${kind}. Add a finish, a family, a tag or a grade.`,
  },
  'invalid-field': {
    ownSuccessor: (finish: string) => `${finish} cannot replace itself. Choose another finish, or no replacement.`,
    discontinuedSuccessor: (finish: string) =>
      `${finish} is itself discontinued. Choose a finish that is sold, or no replacement.`,
    lastOrderDate: (day: string) =>
      `“${day}” is not a valid last order date. Write it as yyyy-mm-dd, such as 2031-06-30.`,
    budget: 'A budget must be an object. Send it with its name, label and limits.',
    budgetName:
      'The name of a budget can contain lower-case letters, digits and hyphens, 64 characters at most. Change the name.',
    builtInBudget: (name: string) => `The budget “${name}” is built in and cannot change. Choose another name.`,
    budgetSource: (max: number) => `The source of a budget must have 1 to ${max} characters. Change its length.`,
    limit: 'A limit must be an object with a recommended value and, optionally, a maximum. Correct it.',
    limitField: (field: string) => `A limit has no field “${field}”. Leave it out.`,
    limitOrder: 'The maximum is lower than the recommended value. Raise it, or leave it out.',
    notText: 'This field must be text. Correct its value.',
    notWhole: (low: number, high: number) =>
      `This field must be a whole number from ${low} to ${high}. Correct its value.`,
    variantsOrCheckSet: 'A job makes either named variants or a check set, but both are given. Leave one of them out.',
  },
  'unknown-field': {
    budget: (field: string) => `A budget has no field “${field}”. Leave it out.`,
  },
  'not-in-range': {
    unknown: (line: string, code: string) =>
      `The range of ${line} does not contain ${code}. Add it to the range first, or choose a finish from the range.`,
    removed: (line: string, code: string) =>
      `${code} was removed from the range of ${line} in the meantime, so this change was not saved. Load the line again.`,
  },
  'no-variant-left': (product: string, finish: string) =>
    `Every variant of ${product} uses ${finish}, so none would be left. Choose a replacement, or first add a variant without it.`,
  'delivery-blocked': (findings: number, first: string) =>
    `${pick(findings, 'One finding blocks the delivery:', `${formatNumber(findings)} findings block the delivery. The first:`)} ${first}`,
  'unknown-delivery': (product: string, delivery: string) =>
    `${product} has no delivery ${delivery}. Check the number against the list of deliveries.`,
  'unknown-job': (id: string) => `There is no job “${id}”. It may be too old; check the list of jobs.`,
  'queue-full': {
    jobs: (waiting: number) => `${waiting} jobs are already waiting. Try again when some are done.`,
    files: (waiting: number) => `${waiting} files are already waiting to be read. Try again in a few seconds.`,
    pictures: (waiting: number) => `${waiting} pictures are already waiting. Try again in a few seconds.`,
  },
} as const satisfies ProblemTexts;
