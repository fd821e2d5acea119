import { countByInclusionExclusion, MAX_INCLUSION_EXCLUSION_COLUMNS, OutOfSteps } from './inclusion-exclusion.ts';
import {
  mergeInterchangeable,
  selectClasses,
  selectColumns,
  type WeightedTable,
  weighTable,
} from './merge-interchangeable.ts';
import { computeExactly } from './modular-arithmetic.ts';
import type { PairTable } from './pair-table.ts';
import { countByElimination, planElimination } from './variable-elimination.ts';

/** The number of valid combinations: exact, or a lower and an upper bound (both included). */
export type CombinationCount =
  | { readonly count: bigint; readonly exact: true }
  | { readonly lower: bigint; readonly upper: bigint; readonly exact: false };

interface Bounds {
  readonly lower: bigint;
  readonly upper: bigint;
}

/**
 * About a second of work; a step is roughly one multiplication. The limit counts steps, so the answer never depends on
 * the machine.
 */
const COUNT_WORK_LIMIT = 20_000_000;

/** Elimination that costs at most this many steps runs without a search for a cheaper way. */
const CHEAP_STEPS = 300_000;

/** The largest table during elimination, in numbers of 8 bytes: 32 MB. */
const MAX_TABLE = 4_000_000;

/**
 * Counts the valid combinations without listing them. It merges interchangeable finishes and counts columns without
 * rules between them separately. It then eliminates the remaining columns one by one, uses inclusion and exclusion
 * where excludes are scattered, or splits along one column. Beyond the limit of steps the answer is bounds.
 * A table without columns has one combination, the empty one.
 */
export function countCombinations(table: PairTable, workLimit: number = COUNT_WORK_LIMIT): CombinationCount {
  const { lower, upper } = countTable(weighTable(table), { left: workLimit });
  return lower === upper ? { count: lower, exact: true } : { lower, upper, exact: false };
}

interface Work {
  left: number;
}

function countTable(whole: WeightedTable, work: Work): Bounds {
  const table = mergeInterchangeable(whole);
  if (!table) return { lower: 0n, upper: 0n };
  let lower = 1n;
  let upper = 1n;
  for (const columns of splitColumns(table)) {
    const part = countConnected(selectColumns(table, columns), work);
    lower *= part.lower;
    upper *= part.upper;
    if (upper === 0n) break;
  }
  return { lower, upper };
}

function countConnected(table: WeightedTable, work: Work): Bounds {
  const sums = table.weights.map((weights) => weights.reduce((sum, weight) => sum + BigInt(weight), 0n));
  const most = sums.reduce((product, sum) => product * sum, 1n);
  if (table.weights.length === 1) return { lower: most, upper: most };

  const plan = planElimination(table);
  const canEliminate = plan.largest <= MAX_TABLE && plan.steps <= work.left;
  if (!(canEliminate && plan.steps <= CHEAP_STEPS) && table.weights.length <= MAX_INCLUSION_EXCLUSION_COLUMNS) {
    // Half the steps at most, so that a failed attempt leaves enough for the other ways.
    const count = tryInclusionExclusion(
      table,
      most,
      work,
      Math.min(work.left / 2, canEliminate ? plan.steps : work.left),
    );
    if (count !== null) return { lower: count, upper: count };
  }
  if (plan.largest <= MAX_TABLE && plan.steps <= work.left) {
    work.left -= plan.steps;
    const count = computeExactly((arithmetic) => countByElimination(table, plan, arithmetic), most);
    return { lower: count, upper: count };
  }
  const relaxed = boundConnected(table, sums, most);
  if (work.left <= 0) return relaxed;
  const split = countBranches(table, work);
  return {
    lower: pickLarger(split.lower, relaxed.lower),
    upper: -pickLarger(-split.upper, -relaxed.upper),
  };
}

function tryInclusionExclusion(table: WeightedTable, most: bigint, work: Work, granted: number): bigint | null {
  let left = granted;
  const spend = (steps: number) => {
    left -= steps;
    work.left -= steps;
    if (left < 0) throw new OutOfSteps();
  };
  try {
    spend(2 ** table.weights.length);
    return computeExactly((arithmetic) => countByInclusionExclusion(table, arithmetic, spend), most);
  } catch (error) {
    if (error instanceof OutOfSteps) return null;
    throw error;
  }
}

/** One count for each class of the column that has rules with most others; of equal columns, the smaller one. */
function countBranches(table: WeightedTable, work: Work): Bounds {
  const columns = table.weights.length;
  const degrees = table.weights.map(() => 0);
  for (const key of table.barred.keys()) {
    degrees[Math.floor(key / columns)]!++;
    degrees[key % columns]!++;
  }
  let column = 0;
  for (let c = 1; c < columns; c++) {
    const more = degrees[c]! - degrees[column]!;
    if (more > 0 || (more === 0 && table.weights[c]!.length < table.weights[column]!.length)) column = c;
  }
  // Each branch checks every pair of classes again, which is quicker than multiplying.
  let cells = 0;
  for (const bytes of table.barred.values()) cells += bytes.length;
  let lower = 0n;
  let upper = 0n;
  for (let i = 0; i < table.weights[column]!.length; i++) {
    work.left -= cells / 4;
    const kept = table.weights.map((weights, c) => (c === column ? [i] : [...weights.keys()]));
    const part = countTable(selectClasses(table, kept), work);
    lower += part.lower;
    upper += part.upper;
  }
  return { lower, upper };
}

/**
 * Bounds at almost no cost. Upper: columns in twos, each two with their allowed pairs only, everything else free.
 * Lower: all combinations minus, for each barred pair, the combinations that contain it (Bonferroni's inequality).
 */
function boundConnected(table: WeightedTable, sums: readonly bigint[], most: bigint): Bounds {
  const columns = table.weights.length;
  const pairs = [...table.barred].map(([key, bytes]) => {
    const a = Math.floor(key / columns);
    const b = key % columns;
    const width = table.weights[b]!.length;
    let allowed = 0n;
    for (const [at, meets] of bytes.entries()) {
      if (meets === 0) continue;
      allowed += BigInt(table.weights[a]![Math.floor(at / width)]!) * BigInt(table.weights[b]![at % width]!);
    }
    return { a, b, allowed, share: Number(allowed) / Number(sums[a]! * sums[b]!) };
  });
  let lower = most;
  for (const { a, b, allowed } of pairs) lower -= (most / (sums[a]! * sums[b]!)) * (sums[a]! * sums[b]! - allowed);
  const free = new Set(sums.keys());
  let upper = 1n;
  for (const { a, b, allowed } of pairs.sort((x, y) => x.share - y.share)) {
    if (!free.has(a) || !free.has(b)) continue;
    upper *= allowed;
    free.delete(a);
    free.delete(b);
  }
  for (const column of free) upper *= sums[column]!;
  return { lower: lower > 0n ? lower : 0n, upper };
}

/** The columns in groups that have no rules between them. */
function splitColumns(table: WeightedTable): readonly number[][] {
  const columns = table.weights.length;
  const group = table.weights.map((_, c) => c);
  for (const key of table.barred.keys()) {
    const from = group[Math.floor(key / columns)]!;
    const to = group[key % columns]!;
    if (from !== to) for (let c = 0; c < columns; c++) if (group[c] === from) group[c] = to;
  }
  const groups = new Map<number, number[]>();
  for (const [c, g] of group.entries()) groups.set(g, [...(groups.get(g) ?? []), c]);
  return [...groups.values()];
}

/** The larger of two; `Math.max` takes no bigints. */
function pickLarger(a: bigint, b: bigint): bigint {
  if (a > b) return a;
  return b;
}
