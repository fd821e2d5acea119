import { CODE_LENGTH, foldCode, NAME_LENGTH } from '../codes.ts';
import type { Finish } from '../finish/finish.ts';
import { makeNamer } from '../make-namer.ts';
import { Problem } from '../problems.ts';
import { refuseCount, type Schedule, VARIANT_LIMIT, type Variant } from './schedule.ts';

/** A slot that is to vary, with the finishes it may take in the range's order. */
export interface Column {
  readonly slot: string;
  readonly finishes: readonly Finish[];
}

export interface Expansion {
  readonly schedule: Schedule;
  readonly added: number;
  readonly total: number;
}

/**
 * Adds every combination of the columns' finishes after the rows that stand; combinations that are there already are
 * left as they are. Slots not among the columns take what the default variant has there.
 * The count is known before anything is built: over `limit` rows in all, nothing is.
 * @param template variant name with `{slot}` in the place of a finish's name; made of all columns when absent
 * @throws Problem `too-many-variants` with the count, `nothing-to-expand`
 */
export function expandSchedule(
  standing: Schedule | null,
  columns: readonly Column[],
  template: string | undefined,
  limit = VARIANT_LIMIT,
): Expansion {
  const empty = columns.filter((column) => column.finishes.length === 0);
  if (columns.length === 0 || empty.length > 0) {
    throw new Problem('nothing-to-expand', {
      detail: empty.length
        ? `No finish may go on ${empty.map((column) => `“${column.slot}”`).join(', ')}. Give the slot or its position options.`
        : 'The product has no slot that changes finish. Let at least one slot change.',
      received: empty.map((column) => column.slot),
    });
  }
  const counted = columns.reduce((product, column) => product * BigInt(column.finishes.length), 1n);
  const rows = standing?.variants.length ?? 0;
  if (counted > limit) refuseCount(counted, limit);
  const combinations = Number(counted);

  const fallback = standing?.variants.find((variant) => variant.code === standing.default)?.choices ?? {};
  const known = new Set((standing?.variants ?? []).map((variant) => keyOf(variant.choices)));
  const taken = standing?.variants ?? [];
  const nameCode = makeNamer(
    taken.map((variant) => variant.code),
    '-',
    CODE_LENGTH,
  );
  const nameRow = makeNamer(
    taken.map((variant) => variant.name),
    ' ',
    NAME_LENGTH.max,
  );
  const pattern = template ?? columns.map((column) => `{${column.slot}}`).join(' / ');
  const added: Variant[] = [];
  for (let n = 0; n < combinations; n++) {
    const chosen = pick(columns, n);
    const choices = { ...fallback, ...Object.fromEntries(chosen.map(([slot, finish]) => [slot, finish.finish])) };
    if (known.has(keyOf(choices))) continue;
    known.add(keyOf(choices));
    const codes = chosen.map(([, finish]) => finish.finish).join('-');
    added.push({ code: nameCode(codes.slice(0, 56)), name: nameRow(fillIn(pattern, chosen)), choices });
  }
  if (rows + added.length > limit) refuseCount(rows + added.length, limit);
  const variants = [...(standing?.variants ?? []), ...added];
  return {
    schedule: { default: standing?.default ?? variants[0]!.code, variants },
    added: added.length,
    total: variants.length,
  };
}

/** Combination number `n`: the last column changes quickest, as one reads a table. */
function pick(columns: readonly Column[], n: number): [string, Finish][] {
  const chosen: [string, Finish][] = [];
  let rest = n;
  for (const column of [...columns].reverse()) {
    chosen.unshift([column.slot, column.finishes[rest % column.finishes.length]!]);
    rest = Math.floor(rest / column.finishes.length);
  }
  return chosen;
}

function fillIn(pattern: string, chosen: readonly [string, Finish][]): string {
  const names = new Map(chosen.map(([slot, finish]) => [slot, finish.name]));
  const filled = pattern.replace(/\{([a-z0-9-]+)\}/g, (whole, slot: string) => names.get(slot) ?? whole);
  // room for a number behind it; cut between characters, never inside one
  return [...filled.normalize('NFC').trim()]
    .slice(0, NAME_LENGTH.max - 10)
    .join('')
    .trim();
}

function keyOf(choices: Readonly<Record<string, string>>): string {
  return Object.entries(choices)
    .map(([slot, finish]) => `${slot}=${foldCode(finish)}`)
    .sort()
    .join('&');
}
