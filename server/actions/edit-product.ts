import { checkCode, checkName } from '../core/codes.ts';
import type { Mount } from '../core/picture/picture.ts';
import { Problem } from '../core/problems.ts';
import { BUDGETS, DEFAULT_BUDGET } from '../core/product/budgets.ts';
import type { Product, ProductClass, Sheet } from '../core/product/product.ts';
import { PRODUCT_PROBLEMS } from '../core/texts/problems/product.ts';
import type { Context } from './context.ts';
import { getProduct } from './load-product.ts';

export interface GivenProduct {
  readonly name: string;
  readonly line?: string | null;
  readonly class?: ProductClass;
  readonly mount?: Mount;
  readonly sheet?: Sheet | null;
  readonly budget?: string;
}

/** Where products of a class usually are; anything else stands on the floor. */
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

/** Changes what is given; the code stays. */
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
  const known = [...(await stores.listBudgets()), ...BUDGETS].map((budget) => budget.name);
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
 * Deletes a product with its models, schedule, deliveries and approvals. One that takes its code afterwards inherits
 * nothing: only the numbers of revisions and deliveries go on, so that an old address never means other bytes.
 * @throws Problem `unknown-product`
 */
export async function deleteProduct(context: Context, code: string): Promise<void> {
  const { code: product } = await getProduct(context, code);
  await context.stores.deleteProduct(product);
  context.jobs.disown(product);
}
