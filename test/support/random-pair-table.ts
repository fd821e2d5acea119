import { makeRandom } from '../../server/core/combinations/covering-array.ts';
import type { PairTable } from '../../server/core/combinations/pair-table.ts';

interface RandomTableWanted {
  /** Finishes per column. */
  readonly sizes: readonly number[];
  /** Incompatible pairs of finishes, chosen at random; each pair once. */
  readonly excludes: number;
  readonly seed: number;
}

/** A table of invented finishes with random excludes; the same seed gives the same ones. */
export function makeRandomTable({ sizes, excludes, seed }: RandomTableWanted): PairTable {
  const random = makeRandom(seed);
  const barred: [number, number, number, number][] = [];
  const drawn = new Set<string>();
  while (barred.length < excludes) {
    const [a, b] = [Math.floor(random() * sizes.length), Math.floor(random() * sizes.length)].sort((x, y) => x - y);
    if (a === b) continue;
    const pair = [a!, Math.floor(random() * sizes[a!]!), b!, Math.floor(random() * sizes[b!]!)] as const;
    if (drawn.has(pair.join())) continue;
    drawn.add(pair.join());
    barred.push([...pair]);
  }
  return barPairs(sizes, barred);
}

/**
 * A table of columns A, B, C …, with the finishes A0, A1 …, in which the given pairs are barred: column, finish,
 * column, finish.
 */
export function barPairs(
  sizes: readonly number[],
  pairs: readonly (readonly [number, number, number, number])[],
): PairTable {
  const barred = new Map<number, Uint8Array>();
  for (const [a, i, b, j] of pairs) {
    if (a > b) throw new Error('columns are named in rising order');
    const key = a * sizes.length + b;
    const bytes = barred.get(key) ?? new Uint8Array(sizes[a]! * sizes[b]!).fill(1);
    bytes[i * sizes[b]! + j] = 0;
    barred.set(key, bytes);
  }
  const columns = sizes.map((size, c) => {
    const label = String.fromCharCode(65 + c);
    return { key: label.toLowerCase(), label, finishes: Array.from({ length: size }, (_, i) => `${label}${i}`) };
  });
  return { columns, barred };
}

/** Every valid combination of a small table, by trying all. */
export function listAllRows({ columns, barred }: PairTable): number[][] {
  let rows: number[][] = [[]];
  for (const [c, { finishes }] of columns.entries()) {
    rows = rows.flatMap((row) =>
      [...finishes.keys()]
        .filter((i) =>
          row.every((chosen, d) => barred.get(d * columns.length + c)?.[chosen * finishes.length + i] !== 0),
        )
        .map((i) => [...row, i]),
    );
  }
  return rows;
}
