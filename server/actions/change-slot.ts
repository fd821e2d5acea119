import { checkName } from '../core/codes.ts';
import type { Options } from '../core/line/line.ts';
import { Problem } from '../core/problems.ts';
import { KEEP_ALL, type Keep, type Slot, type SlotSetting } from '../core/product/slot.ts';
import { PRODUCT_PROBLEMS } from '../core/texts/problems/product.ts';
import type { Context } from './context.ts';
import { loadProduct } from './load-product.ts';
import { checkOptions } from './put-line.ts';

export interface SlotChange {
  readonly label?: string;
  readonly position?: string | null;
  readonly options?: Options | null;
  readonly fixed?: boolean;
  /** Null for the normal map: as the model has it. */
  readonly keep?: Partial<Omit<Keep, 'normal'>> & { readonly normal?: Keep['normal'] | null };
  /** Null: as the model has it. */
  readonly grainDegrees?: number | null;
}

/**
 * Changes what is said of a slot; what is left out stays.
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
    said: say(say(slot.said, 'grain', change.grainDegrees), 'normal', change.keep?.normal),
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

/** What is said of a slot after a change: null takes it back. A slot from before there was such a list has said everything. */
function say(
  said: readonly SlotSetting[] = ['grain', 'normal'],
  what: SlotSetting,
  change: unknown,
): readonly SlotSetting[] {
  if (change === undefined) return said;
  const others = said.filter((known) => known !== what);
  return change === null ? others : [...others, what];
}
