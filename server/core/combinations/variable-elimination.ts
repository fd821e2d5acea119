import type { WeightedTable } from './merge-interchangeable.ts';
import type { Arithmetic } from './modular-arithmetic.ts';

/** The order in which columns are eliminated, the cost in steps, and the largest table on the way. */
interface EliminationPlan {
  readonly order: readonly number[];
  readonly steps: number;
  readonly largest: number;
}

/** A table of values over some columns; the last of `columns` changes fastest. */
interface Factor {
  readonly columns: readonly number[];
  readonly values: Uint8Array | Float64Array;
}

/**
 * Eliminates the column first that leaves the smallest table. This is the usual greedy order; it is good where few
 * columns have rules.
 */
export function planElimination(table: WeightedTable): EliminationPlan {
  const sizes = table.weights.map((weights) => weights.length);
  const columns = sizes.length;
  const near = sizes.map(() => new Set<number>());
  for (const key of table.barred.keys()) {
    near[Math.floor(key / columns)]!.add(key % columns);
    near[key % columns]!.add(Math.floor(key / columns));
  }
  const left = new Set(sizes.keys());
  const order: number[] = [];
  let steps = 0;
  let largest = 1;
  while (left.size > 0) {
    let best = -1;
    let bestSize = Number.POSITIVE_INFINITY;
    for (const column of left) {
      let size = 1;
      for (const other of near[column]!) size *= sizes[other]!;
      if (size < bestSize) {
        best = column;
        bestSize = size;
      }
    }
    steps += bestSize * sizes[best]! * (near[best]!.size + 1);
    largest = Math.max(largest, bestSize);
    for (const other of near[best]!) {
      for (const third of near[best]!) if (third !== other) near[other]!.add(third);
      near[other]!.delete(best);
    }
    left.delete(best);
    order.push(best);
  }
  return { order, steps, largest };
}

/** Counts the valid combinations by eliminating one column after another. */
export function countByElimination(table: WeightedTable, plan: EliminationPlan, arithmetic: Arithmetic): number {
  const sizes = table.weights.map((weights) => weights.length);
  let factors: Factor[] = [...table.barred].map(([key, values]) => ({
    columns: [Math.floor(key / sizes.length), key % sizes.length],
    values,
  }));
  let result = 1;
  for (const column of plan.order) {
    const used = factors.filter((factor) => factor.columns.includes(column));
    const summed = sumOut(table.weights[column]!, column, used, sizes, arithmetic);
    factors = factors.filter((factor) => !used.includes(factor));
    if (summed.columns.length === 0) result = arithmetic.fold(result * summed.values[0]!);
    else factors.push(summed);
  }
  return result;
}

function sumOut(
  weights: readonly number[],
  column: number,
  used: readonly Factor[],
  sizes: readonly number[],
  arithmetic: Arithmetic,
): Factor {
  const scope = [...new Set(used.flatMap((factor) => factor.columns))]
    .filter((c) => c !== column)
    .sort((a, b) => a - b);
  const strides = used.map((factor) => readStrides(factor, sizes));
  const values = new Float64Array(scope.reduce((product, c) => product * sizes[c]!, 1));
  const place = scope.map(() => 0);
  const offsets = used.map(() => 0);
  for (let at = 0; at < values.length; at++) {
    let sum = 0;
    for (let i = 0; i < weights.length; i++) {
      let term = arithmetic.fold(weights[i]!);
      for (let f = 0; f < used.length && term !== 0; f++) {
        const value = used[f]!.values[offsets[f]! + i * strides[f]!.get(column)!]!;
        term = value === 1 ? term : value === 0 ? 0 : arithmetic.fold(term * value);
      }
      sum = arithmetic.fold(sum + term);
    }
    values[at] = sum;
    for (let d = scope.length - 1; d >= 0; d--) {
      const c = scope[d]!;
      const turned = ++place[d]! === sizes[c]!;
      for (let f = 0; f < used.length; f++) offsets[f]! += (strides[f]!.get(c) ?? 0) * (turned ? 1 - sizes[c]! : 1);
      if (!turned) break;
      place[d] = 0;
    }
  }
  return { columns: scope, values };
}

function readStrides(factor: Factor, sizes: readonly number[]): Map<number, number> {
  const strides = new Map<number, number>();
  let stride = 1;
  for (let d = factor.columns.length - 1; d >= 0; d--) {
    strides.set(factor.columns[d]!, stride);
    stride *= sizes[factor.columns[d]!]!;
  }
  return strides;
}
