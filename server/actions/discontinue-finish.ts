import { foldCode } from '../core/codes.ts';
import type { Author } from '../core/history/history.ts';
import { type Line, listProductsOf } from '../core/line/line.ts';
import type { Discontinuation, Stores, TaggedSchedule } from '../core/ports/stores.ts';
import { type DiscontinuePlan, type DiscontinueProduct, planDiscontinue } from '../core/schedule/plan-discontinue.ts';
import type { Context } from './context.ts';
import { getLine, writeOnLine } from './edit-line.ts';
import { inTurns } from './in-turns.ts';
import { indexFinishes, listAll } from './load-finishes.ts';

interface DiscontinueOptions {
  readonly finish: string;
  readonly replacedBy?: string;
  /** Only reports the changes. */
  readonly preview?: boolean;
}

/**
 * Discontinues a finish in a line, in the schedules of all its products: everywhere or not at all.
 * @param ifTag see `requireExpected`
 * @throws Problem `unknown-line-code`, `stale-line`, and as `planDiscontinue`
 */
export async function discontinueFinish(
  context: Pick<Context, 'stores' | 'now'>,
  code: string,
  { finish, replacedBy, preview = false }: DiscontinueOptions,
  author: Author,
  ifTag: string | null = null,
): Promise<DiscontinuePlan> {
  return writeOnLine(context, code, ifTag, async (tx, before) => {
    const line = before ?? (await getLine({ stores: tx }, code));
    const { plan, tags } = await planOnLine(tx, line, finish, replacedBy);
    if (preview) return plan;
    const schedules: Discontinuation['schedules'][number][] = [];
    for (const { product, schedule } of plan.products) {
      schedules.push({ product, written: await tx.writeSchedule(schedule), ifTag: tags.get(product)! });
    }
    await tx.applyDiscontinue({
      line: line.line,
      ifTag: null,
      finish: plan.finish,
      replacedBy: plan.replacedBy,
      stamp: { ...author, at: context.now().toISOString() },
      schedules,
    });
    return plan;
  });
}

async function planOnLine(
  stores: Stores,
  line: Line,
  finish: string,
  replacedBy: string | undefined,
): Promise<{ readonly plan: DiscontinuePlan; readonly tags: ReadonlyMap<string, string | undefined> }> {
  const [{ finishes, articles }, listed] = await Promise.all([listAll(stores), stores.listProducts()]);
  const loaded = await Promise.all(
    listProductsOf(listed, line.line).map((product) => loadForPlan(stores, product.code)),
  );
  const plan = await inTurns(
    planDiscontinue({
      line,
      products: loaded.map(({ product }) => product),
      finishes: await indexFinishes(finishes),
      articles: new Map(articles.map((article) => [foldCode(article.article), article])),
      finish,
      replacedBy: replacedBy ?? null,
    }),
  );
  return { plan, tags: new Map(loaded.map(({ product, tagged }) => [product.product, tagged?.tag])) };
}

async function loadForPlan(
  stores: Stores,
  product: string,
): Promise<{ readonly product: DiscontinueProduct; readonly tagged: TaggedSchedule | null }> {
  const [slots, tagged, latest, delivered] = await Promise.all([
    stores.listSlots(product),
    stores.getSchedule(product),
    stores.getDeliverySummary(product, 'current'),
    stores.listDeliveredCodes(product),
  ]);
  const last = latest && {
    delivery: latest.delivery,
    finishes: await stores.listDeliveredFinishes(product, latest.delivery),
  };
  return {
    tagged,
    product: {
      product,
      slots,
      schedule: tagged?.schedule ?? null,
      delivered,
      last: last ?? null,
    },
  };
}
