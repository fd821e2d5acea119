import type { WeightedTable } from './merge-interchangeable.ts';
import type { Arithmetic } from './modular-arithmetic.ts';

/** There is one array cell per set of columns, so tables with more columns than this need another way (2 MB at 18). */
export const MAX_INCLUSION_EXCLUSION_COLUMNS = 18;

/** Thrown when the work uses up its steps. */
export class OutOfSteps extends Error {}

/** A sum over sets of columns (bits), without the constant 1 that every sum has. */
type SetSum = ReadonlyMap<number, number>;

interface Vertex {
  readonly bit: number;
  readonly weight: number;
  readonly near: number[];
}

/**
 * Counts the valid combinations where excludes are scattered over many columns. Finishes and excludes then form a graph
 * of many small pieces, even where the columns are closely linked.
 *
 * By inclusion and exclusion the number is a sum over sets of excludes that can be broken at once: ±1 times the choices
 * of the columns that the set does not touch. Such a set has one part per piece of the graph, on columns that no other
 * part uses. So each piece is reduced to a sum over sets of columns. These sums are multiplied, keeping only products
 * of disjoint sets: 2^columns cells instead of sizes^columns. A piece is split at the finish that divides it best:
 * P(G) = P(G−v) + w·x·(P(G−N[v])·Π(1 − w(u)·x(u), u next to v) − P(G−v)).
 *
 * `spend` receives the number of steps now and then, and may throw `OutOfSteps`.
 */
export function countByInclusionExclusion(
  table: WeightedTable,
  arithmetic: Arithmetic,
  spend: (steps: number) => void,
): number | bigint {
  const columns = table.weights.length;
  const { fold } = arithmetic;
  const vertices = listVertices(table);
  const everything = [...vertices.keys()].filter((v) => vertices[v]!.near.length > 0);
  const bySupport = new Map<number, SetSum>();
  for (const piece of splitPieces(vertices, everything, spend)) {
    const sum = sumPiece(vertices, piece, fold, spend);
    let support = 0;
    for (const set of sum.keys()) support |= set;
    const other = bySupport.get(support);
    bySupport.set(support, other ? multiply(other, sum, fold, spend) : sum);
  }

  let cells = new Float64Array(2 ** columns);
  cells[0] = 1;
  // Only sets of columns touched so far have values: the order adds one column after the other.
  let touched = 0;
  for (const [support, sum] of [...bySupport].sort((a, b) => a[0] - b[0])) {
    const next = cells.slice();
    for (const [set, value] of sum) {
      const rest = touched & ~set;
      spend(2 ** countBits(rest));
      for (let sub = rest; ; sub = (sub - 1) & rest) {
        if (cells[sub] !== 0) next[sub | set] = fold(next[sub | set]! + fold(value * cells[sub]!));
        if (sub === 0) break;
      }
    }
    cells = next;
    touched |= support;
  }

  return arithmetic.modulus === 0 ? addFree(table, cells) : addFreeModular(table, cells, fold);
}

/** The sum over all sets of columns, each times the choices of the columns that are free in it; column by column. */
function addFree(table: WeightedTable, cells: Float64Array): bigint {
  let sums = Array.from(cells, (value) => BigInt(value));
  for (const weights of table.weights) {
    const all = weights.reduce((sum, weight) => sum + BigInt(weight), 0n);
    const next: bigint[] = [];
    // The lowest bit of a set is the current column: 1 means used, 0 means free.
    for (let set = 0; set < sums.length; set += 2) next.push(sums[set]! * all + sums[set + 1]!);
    sums = next;
  }
  return sums[0]!;
}

function addFreeModular(table: WeightedTable, cells: Float64Array, fold: (value: number) => number): number {
  let sums: ArrayLike<number> = cells;
  for (const weights of table.weights) {
    const all = weights.reduce((sum, weight) => fold(sum + weight), 0);
    const next: number[] = [];
    for (let set = 0; set < sums.length; set += 2) next.push(fold(fold(sums[set]! * all) + sums[set + 1]!));
    sums = next;
  }
  return sums[0]!;
}

function listVertices(table: WeightedTable): Vertex[] {
  const starts: number[] = [];
  const vertices: Vertex[] = [];
  for (const [c, weights] of table.weights.entries()) {
    starts.push(vertices.length);
    for (const weight of weights) vertices.push({ bit: 1 << c, weight, near: [] });
  }
  for (const [key, bytes] of table.barred) {
    const a = Math.floor(key / table.weights.length);
    const b = key % table.weights.length;
    const width = table.weights[b]!.length;
    for (let at = 0; at < bytes.length; at++) {
      if (bytes[at] !== 0) continue;
      const u = starts[a]! + Math.floor(at / width);
      const v = starts[b]! + (at % width);
      vertices[u]!.near.push(v);
      vertices[v]!.near.push(u);
    }
  }
  return vertices;
}

/** The connected pieces among the given vertices, without single vertices. */
function splitPieces(
  vertices: readonly Vertex[],
  among: readonly number[],
  spend: (steps: number) => void,
): readonly number[][] {
  const left = new Set(among);
  const pieces: number[][] = [];
  for (const start of among) {
    if (!left.delete(start)) continue;
    const piece = [start];
    for (let at = 0; at < piece.length; at++) {
      const near = vertices[piece[at]!]!.near;
      spend(near.length);
      for (const v of near) if (left.delete(v)) piece.push(v);
    }
    if (piece.length > 1) pieces.push(piece);
  }
  return pieces;
}

function sumPiece(
  vertices: readonly Vertex[],
  piece: readonly number[],
  fold: (value: number) => number,
  spend: (steps: number) => void,
): SetSum {
  const v = findSplit(vertices, piece, spend);
  const { bit, weight, near } = vertices[v]!;
  const without = piece.filter((u) => u !== v);
  const close = new Set(near);
  // Where v is chosen, its column has no other choice: those vertices are left out here; the sum below counts them.
  const beyond = without.filter((u) => !close.has(u) && vertices[u]!.bit !== bit);
  const rest = sumPieces(vertices, without, fold, spend);
  let taken = sumPieces(vertices, beyond, fold, spend);
  const barred = new Map<number, number>();
  const inPiece = new Set(piece);
  for (const u of near) {
    if (!inPiece.has(u)) continue;
    const other = vertices[u]!;
    barred.set(other.bit, fold((barred.get(other.bit) ?? 0) - other.weight));
  }
  for (const [set, value] of barred) taken = multiply(taken, new Map([[set, value]]), fold, spend);

  const result = new Map(rest);
  const add = (sum: SetSum, sign: number) => {
    spend(sum.size);
    for (const [set, value] of sum) {
      if ((set & bit) !== 0) continue;
      const next = fold((result.get(set | bit) ?? 0) + fold(fold(sign * weight) * value));
      if (next === 0) result.delete(set | bit);
      else result.set(set | bit, next);
    }
  };
  add(taken, 1);
  add(rest, -1);
  return result;
}

function sumPieces(
  vertices: readonly Vertex[],
  among: readonly number[],
  fold: (value: number) => number,
  spend: (steps: number) => void,
): SetSum {
  let sum: SetSum = new Map();
  for (const piece of splitPieces(vertices, among, spend)) {
    sum = multiply(sum, sumPiece(vertices, piece, fold, spend), fold, spend);
  }
  return sum;
}

/** The product of two sums, each with its constant 1. Products of sets that share a column are 0. */
function multiply(a: SetSum, b: SetSum, fold: (value: number) => number, spend: (steps: number) => void): SetSum {
  if (a.size === 0) return b;
  spend(a.size * b.size + a.size + b.size);
  const result = new Map(a);
  for (const [set, value] of b) result.set(set, fold((result.get(set) ?? 0) + value));
  for (const [setA, valueA] of a) {
    for (const [setB, valueB] of b) {
      if ((setA & setB) !== 0) continue;
      result.set(setA | setB, fold((result.get(setA | setB) ?? 0) + fold(valueA * valueB)));
    }
  }
  return result;
}

/** With more vertices than this, the degree gives the split: trying each vertex would cost their square. */
const MAX_TRIED = 60;

/** The vertex whose removal leaves the smallest largest piece. */
function findSplit(vertices: readonly Vertex[], piece: readonly number[], spend: (steps: number) => void): number {
  const inPiece = new Set(piece);
  const degree = (v: number) => vertices[v]!.near.reduce((sum, u) => sum + (inPiece.has(u) ? 1 : 0), 0);
  let best = piece[0]!;
  if (piece.length === 2) return best;
  if (piece.length > MAX_TRIED) {
    for (const v of piece) if (degree(v) > degree(best)) best = v;
    spend(piece.length);
    return best;
  }
  let bestSize = Number.POSITIVE_INFINITY;
  for (const v of piece) {
    if (degree(v) < 2) continue;
    const left = splitPieces(
      vertices,
      piece.filter((u) => u !== v),
      spend,
    );
    const size = Math.max(0, ...left.map((part) => part.length)) - degree(v) / 1000;
    if (size < bestSize) {
      best = v;
      bestSize = size;
    }
  }
  return best;
}

function countBits(set: number): number {
  let bits = 0;
  for (let rest = set; rest !== 0; rest &= rest - 1) bits++;
  return bits;
}
