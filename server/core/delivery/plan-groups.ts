import { foldCode } from '../codes.ts';
import { compileRules, type RuleScope, takesFinishes } from '../line/rules.ts';
import type { Slot } from '../product/slot.ts';
import { barPairs } from '../schedule/rule-effects.ts';
import { choiceOf, type Schedule } from '../schedule/schedule.ts';

/** A place of the product at which the delivered file offers several finishes. */
export interface DeliveredGroup {
  readonly slot: string;
  readonly label: string;
  readonly position: string | null;
  /** Mesh and primitive of each of its parts in the file. */
  readonly parts: readonly (readonly [mesh: number, primitive: number])[];
}

/** Finishes of two slots that are not made together. */
export interface ExcludedPairs {
  readonly slots: readonly [string, string];
  readonly pairs: readonly (readonly [string, string])[];
}

export interface DeliveredGroups {
  readonly groups: readonly DeliveredGroup[];
  /** Null where there are too many pairs to list: then only the variants themselves are known to be made. */
  readonly excluded: readonly ExcludedPairs[] | null;
}

/** Pairs of finishes that are compared, and at most listed: some 10 ms of work, and a megabyte of text. */
const PAIR_LIMIT = 200_000;

/**
 * What a viewer of the file needs to mix finishes: the parts of each slot, and what the line's rules forbid among the finishes
 * that the file contains.
 */
export function planGroups(
  slots: readonly Slot[],
  { variants }: Pick<Schedule, 'variants'>,
  scope: RuleScope,
): DeliveredGroups {
  const used = slots.filter(takesFinishes).flatMap((slot) => {
    const codes = new Map<string, string>();
    for (const { choices } of variants) {
      const code = choiceOf(choices, slot.slot);
      if (code !== undefined) codes.set(foldCode(code), code);
    }
    return codes.size < 2 ? [] : [{ slot, finishes: [...codes.values()] }];
  });
  const groups = used.map(({ slot: { slot, label, position, primitives } }) => ({
    slot,
    label,
    position: position ?? null,
    parts: primitives.map(({ mesh, primitive }) => [mesh, primitive] as const),
  }));
  const counts = used.map(({ finishes }) => finishes.length);
  const pairs = counts.reduce((sum, a, at) => sum + counts.slice(at + 1).reduce((more, b) => more + a * b, 0), 0);
  if (pairs > PAIR_LIMIT) return { groups, excluded: null };
  const columns = used.map(({ slot, finishes }) => ({ key: slot.slot, label: slot.label, finishes }));
  const { barred } = barPairs(columns, compileRules(scope));
  const excluded = [...barred].map(([key, bytes]): ExcludedPairs => {
    const [a, b] = [columns[Math.floor(key / columns.length)]!, columns[key % columns.length]!];
    const pairs = a.finishes.flatMap((finish, i) =>
      b.finishes.flatMap((other, j) => (bytes[i * b.finishes.length + j] === 0 ? [[finish, other] as const] : [])),
    );
    return { slots: [a.key, b.key], pairs };
  });
  return { groups, excluded };
}
