import { signal } from '@preact/signals';
import type { ProductAnswer } from '../../../../server/http/contracts/product.ts';
import type { CountAnswer } from '../../../../server/http/contracts/schedule.ts';
import type { SlotListAnswer } from '../../../../server/http/contracts/slot.ts';
import { get, getErrorMessage, seg } from '../../../api.ts';

/** The effect of a line's rules on one of its products. */
export interface Effect {
  readonly product: ProductAnswer;
  /** Null while the service is counting. */
  readonly counted: CountAnswer | null;
  /** The count before the last change; null at first, and if it is the same. */
  readonly before: CountAnswer | null;
  /** Positions of its slots. */
  readonly positions: readonly string[];
  readonly trouble: string | null;
}

/** Counts the combinations that options and rules allow, product by product, after every change to the line. */
export function createEffectsModel() {
  const effects = signal<readonly Effect[]>([]);
  let run = 0;

  async function load(products: readonly ProductAnswer[]): Promise<void> {
    const thisRun = ++run;
    const known = new Map(effects.value.map((effect) => [effect.product.code, effect]));
    effects.value = products
      .filter(({ model }) => model !== null)
      .map((product) => {
        const previous = known.get(product.code);
        return {
          product,
          counted: null,
          before: previous?.counted ?? null,
          positions: previous?.positions ?? [],
          trouble: null,
        };
      });
    // one at a time, since a count may take the service a second
    for (const { product } of effects.value) {
      const path = `/api/products/${seg(product.code)}`;
      let change: Partial<Effect>;
      try {
        const [counted, { slots }] = await Promise.all([
          get<CountAnswer>(`${path}/schedule/count?explain=1`),
          get<SlotListAnswer>(`${path}/slots`),
        ]);
        const changing = slots.filter(({ fixed, primitives }) => !fixed && primitives > 0);
        change = { counted, positions: [...new Set(changing.flatMap(({ position }) => position ?? []))] };
      } catch (error) {
        change = { trouble: getErrorMessage(error) };
      }
      // the line has changed meanwhile, and a newer run counts again
      if (thisRun !== run) return;
      effects.value = effects.value.map((effect) => {
        if (effect.product.code !== product.code) return effect;
        const next = { ...effect, ...change };
        return isSame(next.counted, next.before) ? { ...next, before: null } : next;
      });
    }
  }

  return { effects, load };
}

export type EffectsModel = ReturnType<typeof createEffectsModel>;

function isSame(a: CountAnswer | null, b: CountAnswer | null): boolean {
  if (!a || !b) return true;
  if (a.exact !== b.exact) return false;
  return a.exact && b.exact ? a.count === b.count : true;
}
