import { finish, SLICE, type Sliced } from '../slices.ts';
import { listNamedSlots, type Schedule, type Variant } from './schedule.ts';

/**
 * Rows of a schedule in few objects, to pass them between threads: twenty thousand rows as they are take fifty milliseconds to
 * copy, these a few. GTINs are left out.
 */
export interface PackedRows {
  readonly default: string;
  readonly codes: readonly string[];
  readonly names: readonly string[];
  readonly slots: readonly string[];
  readonly finishes: readonly string[];
  /** Row by row: the index of the finish in each slot, `NONE` without a choice. */
  readonly cells: Uint32Array;
}

const NONE = 0xffff_ffff;

export function packRows(schedule: Schedule): PackedRows {
  return finish(packRowsSliced(schedule));
}

export function* packRowsSliced({ default: first, variants }: Schedule): Sliced<PackedRows> {
  const slots = new Map(listNamedSlots({ variants }).map((slot, at) => [slot, at]));
  const finishes = new Map<string, number>();
  const cells = new Uint32Array(variants.length * slots.size).fill(NONE);
  const codes: string[] = [];
  const names: string[] = [];
  for (const { code, name, choices } of variants) {
    const row = codes.length;
    if (row > 0 && row % SLICE === 0) yield;
    codes.push(code);
    names.push(name);
    for (const slot of Object.keys(choices)) {
      const chosen = choices[slot]!;
      let index = finishes.get(chosen);
      if (index === undefined) finishes.set(chosen, (index = finishes.size));
      cells[row * slots.size + slots.get(slot)!] = index;
    }
  }
  return { default: first, codes, names, slots: [...slots.keys()], finishes: [...finishes.keys()], cells };
}

/** @param from first row @param to row after the last */
export function unpackRows(packed: PackedRows, from = 0, to = packed.codes.length): Variant[] {
  const { codes, names, slots, finishes, cells } = packed;
  return codes.slice(from, to).map((code, offset) => {
    const row = from + offset;
    const choices: [string, string][] = [];
    for (let column = 0; column < slots.length; column++) {
      const index = cells[row * slots.length + column]!;
      if (index !== NONE) choices.push([slots[column]!, finishes[index]!]);
    }
    // entries, since a slot's key may be any word, even `__proto__`
    return { code, name: names[row]!, choices: Object.fromEntries(choices) };
  });
}

export function unpackSchedule(packed: PackedRows): Schedule {
  return { default: packed.default, variants: unpackRows(packed) };
}
