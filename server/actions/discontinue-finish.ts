import type { Author } from '../core/history/history.ts';
import { type Line, listProductsOf } from '../core/line/line.ts';
import type { TaggedSchedule } from '../core/ports/stores.ts';
import { type DiscontinuePlan, type DiscontinueProduct, planDiscontinue } from '../core/schedule/plan-discontinue.ts';
import type { Context } from './context.ts';
import { getLine, writeOnLine } from './edit-line.ts';
import { type ForFinishes, loadFinishes } from './load-finishes.ts';

interface DiscontinueOptions {
  readonly finish: string;
  readonly replacedBy?: string;
  /** Only reports the changes. */
  readonly preview?: boolean;
}

/**
 * Discontinues a finish in a line, in the schedules of all its products: everywhere or not at all.
 * @param ifTag tag of the line that the caller read; null if it accepts overwriting the changes of others
 * @throws Problem `unknown-line-code`, `stale-line`, `stale-schedule` if a schedule changed in the meantime, and as
 *   `planDiscontinue`
 */
export async function discontinueFinish(
  context: ForFinishes & Pick<Context, 'now'>,
  code: string,
  { finish, replacedBy, preview = false }: DiscontinueOptions,
  author: Author,
  ifTag: string | null = null,
): Promise<DiscontinuePlan> {
  return writeOnLine(context, code, ifTag, async (before, tag) => {
    const line = before ?? (await getLine(context, code));
    const { plan, tags } = await planOnLine(context, line, finish, replacedBy);
    if (preview) return plan;
    await context.stores.applyDiscontinue({
      line: line.line,
      ifTag: tag,
      finish: plan.finish,
      replacedBy: plan.replacedBy,
      stamp: { ...author, at: context.now().toISOString() },
      schedules: plan.products.map(({ product, schedule }) => ({ product, schedule, ifTag: tags.get(product)! })),
    });
    return plan;
  });
}

async function planOnLine(
  context: ForFinishes,
  line: Line,
  finish: string,
  replacedBy: string | undefined,
): Promise<{ readonly plan: DiscontinuePlan; readonly tags: ReadonlyMap<string, string | undefined> }> {
  const [library, listed] = await Promise.all([loadFinishes(context), context.stores.listProducts()]);
  const loaded = await Promise.all(
    listProductsOf(listed, line.line).map((product) => loadForPlan(context, product.code)),
  );
  const plan = planDiscontinue({
    line,
    products: loaded.map(({ product }) => product),
    finishes: library.byCode,
    articles: library.articles,
    finish,
    replacedBy: replacedBy ?? null,
  });
  return { plan, tags: new Map(loaded.map(({ product, tagged }) => [product.product, tagged?.tag])) };
}

async function loadForPlan(
  { stores }: Pick<Context, 'stores'>,
  product: string,
): Promise<{ readonly product: DiscontinueProduct; readonly tagged: TaggedSchedule | null }> {
  const [slots, tagged, [latest], delivered] = await Promise.all([
    stores.listSlots(product),
    stores.getSchedule(product),
    stores.listDeliveries(product),
    stores.listDeliveredCodes(product),
  ]);
  const manifest = latest ? await stores.getDelivery(product, latest.delivery) : null;
  return {
    tagged,
    product: {
      product,
      slots,
      schedule: tagged?.schedule ?? null,
      delivered,
      last: manifest && { delivery: manifest.delivery, finishes: manifest.finishes.map((each) => each.finish) },
    },
  };
}
