import { checkCode, checkName } from '../core/codes.ts';
import type { Options } from '../core/line/line.ts';
import type { Mount } from '../core/picture/picture.ts';
import { Problem } from '../core/problems.ts';
import { BUDGETS, type Budget, DEFAULT_BUDGET, readBudget } from '../core/product/budgets.ts';
import type { Product, ProductClass, Sheet } from '../core/product/product.ts';
import { KEEP_ALL, type Keep, type Slot, type SlotSetting } from '../core/product/slot.ts';
import { PRODUCT_PROBLEMS } from '../core/texts/problems/product.ts';
import type { Context } from './context.ts';
import { checkOptions } from './edit-line.ts';
import { getProduct, loadProduct } from './load-product.ts';

interface GivenProduct {
  readonly name: string;
  readonly line?: string | null;
  readonly class?: ProductClass;
  readonly mount?: Mount;
  readonly sheet?: Sheet | null;
  readonly budget?: string;
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
  const product: Product = {
    code: checkCode(code, 'product'),
    name: checkName(given.name, '/name'),
    line: await findLine(stores, given.line),
    class: productClass,
    mount: given.mount ?? USUAL_MOUNT[productClass] ?? 'floor',
    sheet: given.sheet ?? null,
    budget: await checkBudgetName(stores, given.budget ?? DEFAULT_BUDGET),
  };
  await stores.addProduct(product);
  return product;
}

/** Changes the given fields. A code never changes. */
export async function changeProduct(context: Context, code: string, given: Partial<GivenProduct>): Promise<Product> {
  const before = await getProduct(context, code);
  const product: Product = {
    code: before.code,
    name: given.name === undefined ? before.name : checkName(given.name, '/name'),
    line: given.line === undefined ? before.line : await findLine(context.stores, given.line),
    class: given.class ?? before.class,
    mount: given.mount ?? before.mount,
    sheet: given.sheet === undefined ? before.sheet : given.sheet,
    budget: given.budget === undefined ? before.budget : await checkBudgetName(context.stores, given.budget),
  };
  await context.stores.changeProduct(product);
  return product;
}

/** @throws Problem `unknown-budget` */
async function checkBudgetName(stores: Context['stores'], name: string): Promise<string> {
  const known = (await listBudgets({ stores })).map((budget) => budget.name);
  if (known.includes(name)) return name;
  throw new Problem('unknown-budget', {
    detail: PRODUCT_PROBLEMS['unknown-budget'](name.slice(0, 80)),
    expected: [...new Set(known)],
    received: name.slice(0, 80),
    where: '/budget',
  });
}

async function findLine(stores: Context['stores'], code: string | null | undefined): Promise<string | null> {
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
 * @throws Problem `unknown-product`
 */
export async function deleteProduct(context: Context, code: string): Promise<void> {
  const { code: product } = await getProduct(context, code);
  await context.stores.deleteProduct(product);
  context.jobs.disown(product);
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
 * @throws Problem `unknown-product`, `unknown-slot-key`, `unknown-position`, `unknown-finish`, `invalid-name`
 */
export async function changeSlot(context: Context, code: string, key: string, change: SlotChange): Promise<Slot> {
  const { slots, line, finishes } = await loadProduct(context, code);
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
  checkOptions(change.options, finishes.byCode, '/options');
  const label = change.label === undefined ? undefined : checkName(change.label, '/label');
  const changed = await context.stores.changeSlot(code, key, (slot) => ({
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
  if (changed) return changed;
  const texts = PRODUCT_PROBLEMS['unknown-slot-key'];
  throw new Problem('unknown-slot-key', {
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

/** @throws Problem `invalid-field`, `unknown-field`, `invalid-name` */
export async function putBudget(
  { stores }: Pick<Context, 'stores'>,
  name: string,
  given: object,
): Promise<{ readonly created: boolean; readonly budget: Budget }> {
  const budget = readBudget({ ...given, name });
  return { created: await stores.putBudget(budget), budget };
}
