import { signal } from '@preact/signals';
import type { ProductAnswer } from '../../../../server/http/contracts/product.ts';
import type { CountAnswer } from '../../../../server/http/contracts/schedule.ts';
import type { SlotListAnswer } from '../../../../server/http/contracts/slot.ts';
import { get, getErrorMessage, seg } from '../../../api.ts';

/** What the rules of a line do to one of its products. */
export interface Effect {
  readonly product: ProductAnswer;
  /** Null while it is being counted. */
  readonly counted: CountAnswer | null;
  /** As it was before the last change; null at first, and where it is the same. */
  readonly before: CountAnswer | null;
  /** Positions its slots stand at. */
  readonly positions: readonly string[];
  readonly trouble: string | null;
}

/** Counts what options and rules allow, product by product, after every change of the line. */
export function createEffectsModel() {
  const effects = signal<readonly Effect[]>([]);
  let run = 0;

  async function load(products: readonly ProductAnswer[]): Promise<void> {
    const mine = ++run;
    const known = new Map(effects.value.map((effect) => [effect.product.code, effect]));
    effects.value = products
      .filter(({ model }) => model !== null)
      .map((product) => {
        const was = known.get(product.code);
        return { product, counted: null, before: was?.counted ?? null, positions: was?.positions ?? [], trouble: null };
      });
    // one after the other: counting may take the service a second each
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
      // the line was changed meanwhile, and a newer run counts again
      if (mine !== run) return;
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
