import { checkCode, checkName } from '../core/codes.ts';
import { readSkuTemplate } from '../core/delivery/sku.ts';
import type { Options } from '../core/line/line.ts';
import type { Mount } from '../core/picture/picture.ts';
import type { Stores } from '../core/ports/stores.ts';
import { requireExpected } from '../core/precondition.ts';
import { Problem } from '../core/problems.ts';
import { BUDGETS, type Budget, DEFAULT_BUDGET, readBudget } from '../core/product/budgets.ts';
import type { Product, ProductClass, Sheet } from '../core/product/product.ts';
import { KEEP_ALL, type Keep, type Slot, type SlotSetting } from '../core/product/slot.ts';
import { PRODUCT_PROBLEMS } from '../core/texts/problems/product.ts';
import type { Context } from './context.ts';
import { checkOptions } from './edit-line.ts';
import { indexFinishes } from './load-finishes.ts';
import { getProduct } from './load-product.ts';
import { tagBudget, tagProduct, tagSlot } from './tags.ts';

interface GivenProduct {
  readonly name: string;
  readonly line?: string | null;
  readonly class?: ProductClass;
  readonly mount?: Mount;
  readonly sheet?: Sheet | null;
  readonly budget?: string;
  readonly skuTemplate?: string | null;
}

/** Default mount of a class. Other classes stand on the floor. */
const USUAL_MOUNT: Partial<Record<ProductClass, Mount>> = {
  'table-lamp': 'table',
  'pendant-lamp': 'ceiling',
  mug: 'table',
  bottle: 'table',
  plate: 'table',
};

/** @throws Problem `invalid-code`, `reserved-code`, `duplicate-code`, `invalid-name`, `unknown-line` */
export async function addProduct(
  { stores }: Pick<Context, 'stores'>,
  code: string,
  given: GivenProduct,
): Promise<Product> {
  const productClass = given.class ?? 'none';
  return stores.transaction(async (tx) => {
    const product: Product = {
      code: checkCode(code, 'product'),
      name: checkName(given.name, '/name'),
      line: await findLine(tx, given.line),
      class: productClass,
      mount: given.mount ?? USUAL_MOUNT[productClass] ?? 'floor',
      sheet: given.sheet ?? null,
      budget: await checkBudgetName(tx, given.budget ?? DEFAULT_BUDGET),
      ...(given.skuTemplate && { skuTemplate: readSkuTemplate(given.skuTemplate, []) }),
    };
    await tx.addProduct(product);
    return product;
  });
}

/**
 * Changes the given fields. A code never changes.
 * @param ifTag see `requireExpected`
 * @throws Problem `unknown-product`, `stale-product`, `invalid-name`, `unknown-line`, `unknown-budget`
 */
export async function changeProduct(
  { stores }: Pick<Context, 'stores'>,
  code: string,
  given: Partial<GivenProduct>,
  ifTag: string | null = null,
): Promise<Product> {
  return stores.transaction(async (tx) => {
    const before = await getProduct({ stores: tx }, code);
    requireExpected('product', before.code, tagProduct(before), ifTag);
    const product: Product = {
      code: before.code,
      name: given.name === undefined ? before.name : checkName(given.name, '/name'),
      line: given.line === undefined ? before.line : await findLine(tx, given.line),
      class: given.class ?? before.class,
      mount: given.mount ?? before.mount,
      sheet: given.sheet === undefined ? before.sheet : given.sheet,
      budget: given.budget === undefined ? before.budget : await checkBudgetName(tx, given.budget),
      ...(await checkSkuTemplate(tx, before, given.skuTemplate)),
    };
    await tx.changeProduct(product);
    return product;
  });
}

/** @throws Problem `sku-template` */
async function checkSkuTemplate(
  stores: Stores,
  before: Product,
  given: string | null | undefined,
): Promise<Pick<Product, 'skuTemplate'>> {
  if (given === null) return {};
  if (given === undefined) return before.skuTemplate === undefined ? {} : { skuTemplate: before.skuTemplate };
  const slots = (await stores.listSlots(before.code)).filter(({ fixed }) => !fixed);
  return {
    skuTemplate: readSkuTemplate(
      given,
      slots.map(({ slot }) => slot),
    ),
  };
}

/** @throws Problem `unknown-budget` */
async function checkBudgetName(stores: Stores, name: string): Promise<string> {
  const known = (await listBudgets({ stores })).map((budget) => budget.name);
  if (known.includes(name)) return name;
  throw new Problem('unknown-budget', {
    detail: PRODUCT_PROBLEMS['unknown-budget'](name.slice(0, 80)),
    expected: [...new Set(known)],
    received: name.slice(0, 80),
    where: '/budget',
  });
}

async function findLine(stores: Stores, code: string | null | undefined): Promise<string | null> {
  if (code === null || code === undefined) return null;
  const line = await stores.getLine(code);
  if (line) return line.line;
  throw new Problem('unknown-line', {
    detail: PRODUCT_PROBLEMS['unknown-line'](code),
    received: code,
    where: '/line',
  });
}

/**
 * Deletes a product with its models, schedule, deliveries and approvals. A later product with the same code inherits only the
 * counters of revisions and deliveries, so that an old URL never gets other bytes.
 * @param ifTag see `requireExpected`
 * @throws Problem `unknown-product`, `stale-product`
 */
export async function deleteProduct(context: Context, code: string, ifTag: string | null = null): Promise<void> {
  const deleted = await context.stores.transaction(async (tx) => {
    const product = await getProduct({ stores: tx }, code);
    requireExpected('product', product.code, tagProduct(product), ifTag);
    await tx.deleteProduct(product.code);
    return product.code;
  });
  context.jobs.disown(deleted);
}

export interface SlotChange {
  readonly label?: string;
  readonly position?: string | null;
  readonly options?: Options | null;
  readonly fixed?: boolean;
  /** Null for the normal map: it follows the model. */
  readonly keep?: Partial<Omit<Keep, 'normal'>> & { readonly normal?: Keep['normal'] | null };
  /** Degrees counter-clockwise. Null: the direction follows the model. */
  readonly grainDegrees?: number | null;
}

/**
 * Changes the given fields of a slot.
 * @param ifTag see `requireExpected`
 * @throws Problem `unknown-product`, `unknown-slot-key`, `stale-slot`, `unknown-position`, `unknown-finish`, `invalid-name`
 */
export async function changeSlot(
  { stores }: Pick<Context, 'stores'>,
  code: string,
  key: string,
  change: SlotChange,
  ifTag: string | null = null,
): Promise<Slot> {
  return stores.transaction((tx) => changeSlotIn(tx, code, key, change, ifTag));
}

async function changeSlotIn(
  tx: Stores,
  code: string,
  key: string,
  change: SlotChange,
  ifTag: string | null,
): Promise<Slot> {
  const product = await getProduct({ stores: tx }, code);
  const line = product.line === null ? null : await tx.getLine(product.line);
  const slots = await tx.listSlots(code);
  const stored = slots.find(({ slot }) => slot === key);
  if (!stored) throw unknownSlot(key, slots);
  requireExpected('slot', key, tagSlot(stored), ifTag);
  if (change.position && !line?.positions.some((position) => position.position === change.position)) {
    throw new Problem('unknown-position', {
      detail: line
        ? PRODUCT_PROBLEMS['unknown-position'].ofLine(line.line, change.position)
        : PRODUCT_PROBLEMS['unknown-position'].noLine,
      expected: line?.positions.map((position) => position.position) ?? [],
      received: change.position,
      where: '/position',
    });
  }
  if (change.options?.finishes) checkOptions(change.options, await indexFinishes(await tx.listFinishes()), '/options');
  const label = change.label === undefined ? undefined : checkName(change.label, '/label');
  const changed = await tx.changeSlot(code, key, (slot) => ({
    ...slot,
    label: label ?? slot.label,
    position: change.position === undefined ? slot.position : change.position,
    options: change.options === undefined ? slot.options : change.options,
    fixed: change.fixed ?? slot.fixed,
    keep: {
      ...slot.keep,
      ...change.keep,
      normal: change.keep?.normal === undefined ? slot.keep.normal : (change.keep.normal ?? KEEP_ALL.normal),
    },
    grainDegrees: change.grainDegrees === undefined ? slot.grainDegrees : (change.grainDegrees ?? 0),
    said: markAsSet(markAsSet(slot.said, 'grain', change.grainDegrees), 'normal', change.keep?.normal),
  }));
  return changed!;
}

export function unknownSlot(key: string, slots: readonly Slot[]): Problem {
  const texts = PRODUCT_PROBLEMS['unknown-slot-key'];
  return new Problem('unknown-slot-key', {
    detail:
      slots.length > 0
        ? texts.known(
            key.slice(0, 80),
            slots.map((known) => known.slot),
          )
        : texts.noModel(key.slice(0, 80)),
    received: key.slice(0, 80),
  });
}

/**
 * The settings of a slot that a person has set, after a change; null resets one. Slots stored before this list existed count
 * as fully set.
 */
function markAsSet(
  known: readonly SlotSetting[] = ['grain', 'normal'],
  setting: SlotSetting,
  change: unknown,
): readonly SlotSetting[] {
  if (change === undefined) return known;
  const others = known.filter((each) => each !== setting);
  return change === null ? others : [...others, setting];
}

/** Custom size budgets, then the built-in ones. */
export async function listBudgets({ stores }: Pick<Context, 'stores'>): Promise<Budget[]> {
  return [...(await stores.listBudgets()), ...BUDGETS];
}

/** @throws Problem `not-found` */
export async function getBudget(context: Pick<Context, 'stores'>, name: string): Promise<Budget> {
  const known = (await listBudgets(context)).find((budget) => budget.name === name);
  if (known) return known;
  throw new Problem('not-found', {
    detail: PRODUCT_PROBLEMS['not-found'].budget(name.slice(0, 80)),
    received: name.slice(0, 80),
  });
}

/**
 * @param ifTag see `requireExpected`
 * @throws Problem `stale-budget`, `invalid-field`, `unknown-field`, `invalid-name`
 */
export async function putBudget(
  { stores }: Pick<Context, 'stores'>,
  name: string,
  given: object,
  ifTag: string | null = null,
): Promise<{ readonly created: boolean; readonly budget: Budget }> {
  const budget = readBudget({ ...given, name });
  return stores.transaction(async (tx) => {
    await requireBudgetExpected(tx, budget.name, ifTag);
    return { created: await tx.putBudget(budget), budget };
  });
}

/** A built-in budget comes back. @throws Problem `stale-budget` */
export async function deleteBudget(
  { stores }: Pick<Context, 'stores'>,
  name: string,
  ifTag: string | null = null,
): Promise<void> {
  await stores.transaction(async (tx) => {
    await requireBudgetExpected(tx, name, ifTag);
    await tx.deleteBudget(name);
  });
}

async function requireBudgetExpected(tx: Stores, name: string, ifTag: string | null): Promise<void> {
  const stored = (await listBudgets({ stores: tx })).find((budget) => budget.name === name);
  requireExpected('budget', name, stored ? tagBudget(stored) : null, ifTag);
}
