import { checkName } from '../core/codes.ts';
import type { Options } from '../core/line/options.ts';
import { Problem } from '../core/problems.ts';
import type { Keep, Slot } from '../core/product/slot.ts';
import type { Context } from './context.ts';
import { loadProduct } from './load-product.ts';
import { checkOptions } from './put-line.ts';

export interface SlotChange {
  readonly label?: string;
  readonly position?: string | null;
  readonly options?: Options | null;
  readonly fixed?: boolean;
  readonly keep?: Partial<Keep>;
  readonly grainDegrees?: number;
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
        ? `The line ${line.line} has no position “${change.position}”.`
        : 'The product belongs to no line, so there are no positions. Give it a line first.',
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
    keep: { ...slot.keep, ...change.keep },
    grainDegrees: change.grainDegrees ?? slot.grainDegrees,
  }));
  if (changed) return changed;
  throw new Problem('unknown-slot-key', {
    detail: `The product has no slot “${key.slice(0, 80)}”. Its slots are: ${slots.map((known) => known.slot).join(', ') || 'none, since it has no model yet'}.`,
    received: key.slice(0, 80),
  });
}
