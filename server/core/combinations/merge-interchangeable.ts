import type { PairTable } from './pair-table.ts';

/**
 * A table of choices for counting. Per column it has the weights of its classes of finishes: a weight is the number of
 * finishes, or joint choices, in a class. Per pair of columns it has a byte for each pair of classes, 0 where they are
 * incompatible.
 * Keys and order of `barred` are those of `PairTable`.
 */
export interface WeightedTable {
  readonly weights: readonly (readonly number[])[];
  readonly barred: ReadonlyMap<number, Uint8Array>;
}

/** Joint choices with a weight beyond this stay separate, so that a weight is always exact (below 2^53). */
const MAX_JOINT_WEIGHT = 2 ** 40;

/** The table with one class of weight 1 for each finish. */
export function weighTable(table: PairTable): WeightedTable {
  return { weights: table.columns.map((column) => column.finishes.map(() => 1)), barred: table.barred };
}

/**
 * Keeps the number of combinations and reduces the classes where that is cheap. It drops finishes that no combination
 * can contain. Finishes that are barred from the very same others become one class. Two columns of which one almost
 * decides the other (same-as, companions that follow) become one column of joint choices. Null when a column has
 * nothing left.
 */
export function mergeInterchangeable(table: WeightedTable): WeightedTable | null {
  let current: WeightedTable = table;
  for (;;) {
    const kept = listSupported(current);
    if (kept.some((column) => column.length === 0)) return null;
    const whole = kept.every((column, c) => column.length === current.weights[c]!.length);
    current = mergeAlike(whole ? current : selectClasses(current, kept));
    const pair = findTightPair(current);
    if (!pair) return current;
    current = joinColumns(current, pair[0], pair[1]);
  }
}

/** The table with only the named classes of each column, without pairs of columns that bar nothing. */
export function selectClasses(table: WeightedTable, kept: readonly (readonly number[])[]): WeightedTable {
  const columns = table.weights.length;
  const barred = new Map<number, Uint8Array>();
  for (const [key, bytes] of table.barred) {
    const a = Math.floor(key / columns);
    const b = key % columns;
    const width = table.weights[b]!.length;
    const next = new Uint8Array(kept[a]!.length * kept[b]!.length);
    let at = 0;
    let bars = false;
    for (const i of kept[a]!) {
      for (const j of kept[b]!) {
        const meets = bytes[i * width + j]!;
        if (meets === 0) bars = true;
        next[at++] = meets;
      }
    }
    if (bars) barred.set(key, next);
  }
  return { weights: kept.map((classes, c) => classes.map((i) => table.weights[c]![i]!)), barred };
}

/** The table with only the named columns, in that order (which must be ascending). */
export function selectColumns(table: WeightedTable, chosen: readonly number[]): WeightedTable {
  const columns = table.weights.length;
  const place = new Map(chosen.map((column, at) => [column, at]));
  const barred = new Map<number, Uint8Array>();
  for (const [key, bytes] of table.barred) {
    const a = place.get(Math.floor(key / columns));
    const b = place.get(key % columns);
    if (a !== undefined && b !== undefined) barred.set(a * chosen.length + b, bytes);
  }
  return { weights: chosen.map((column) => table.weights[column]!), barred };
}

/**
 * The classes of each column that have a partner in every other column, repeated until nothing changes (arc
 * consistency).
 */
function listSupported(table: WeightedTable): number[][] {
  const columns = table.weights.length;
  const alive = table.weights.map((weights) => new Uint8Array(weights.length).fill(1));
  for (let changed = true; changed; ) {
    changed = false;
    for (const [key, bytes] of table.barred) {
      const a = alive[Math.floor(key / columns)]!;
      const b = alive[key % columns]!;
      for (let i = 0; i < a.length; i++) {
        if (a[i] === 0) continue;
        let supported = false;
        for (let j = 0; j < b.length && !supported; j++) supported = b[j] === 1 && bytes[i * b.length + j] !== 0;
        if (!supported) {
          a[i] = 0;
          changed = true;
        }
      }
      for (let j = 0; j < b.length; j++) {
        if (b[j] === 0) continue;
        let supported = false;
        for (let i = 0; i < a.length && !supported; i++) supported = a[i] === 1 && bytes[i * b.length + j] !== 0;
        if (!supported) {
          b[j] = 0;
          changed = true;
        }
      }
    }
  }
  return alive.map((flags) => [...flags.keys()].filter((i) => flags[i] === 1));
}

/**
 * Makes one class of all classes of a column that are barred from the same others. A merge in one column never makes
 * classes of another column equal.
 */
function mergeAlike(table: WeightedTable): WeightedTable {
  const columns = table.weights.length;
  const groups = table.weights.map((weights) => weights.map(() => 0));
  for (const [key, bytes] of table.barred) {
    const a = Math.floor(key / columns);
    const b = key % columns;
    const width = table.weights[b]!.length;
    splitGroups(groups[a]!, width, (i, j) => bytes[i * width + j]!);
    splitGroups(groups[b]!, table.weights[a]!.length, (j, i) => bytes[i * width + j]!);
  }
  const merged: number[][] = [];
  const kept = groups.map((column, c) => {
    const first = new Map<number, number>();
    const classes: number[] = [];
    const weights: number[] = [];
    for (const [i, group] of column.entries()) {
      const place = first.get(group);
      if (place === undefined) {
        first.set(group, classes.length);
        classes.push(i);
        weights.push(table.weights[c]![i]!);
      } else weights[place]! += table.weights[c]![i]!;
    }
    merged.push(weights);
    return classes;
  });
  return { weights: merged, barred: selectClasses(table, kept).barred };
}

/**
 * Splits groups of classes by what they are compatible with in one more column. To compare bits, it packs them into
 * strings, 16 to a character.
 */
function splitGroups(groups: number[], width: number, meets: (own: number, other: number) => number): void {
  const known = new Map<string, number>();
  for (let own = 0; own < groups.length; own++) {
    let row = `${groups[own]}:`;
    for (let start = 0; start < width; start += 16) {
      let bits = 0;
      for (let other = start; other < Math.min(width, start + 16); other++) bits = bits * 2 + meets(own, other);
      row += String.fromCharCode(bits);
    }
    const group = known.get(row) ?? known.size;
    known.set(row, group);
    groups[own] = group;
  }
}

/** Two columns with no more allowed pairs than the larger one has classes: one joint column is no larger. */
function findTightPair(table: WeightedTable): readonly [number, number] | undefined {
  const columns = table.weights.length;
  for (const [key, bytes] of table.barred) {
    const a = Math.floor(key / columns);
    const b = key % columns;
    let allowed = 0;
    for (const meets of bytes) if (meets !== 0) allowed++;
    const heaviest = Math.max(...table.weights[a]!) * Math.max(...table.weights[b]!);
    if (allowed <= Math.max(table.weights[a]!.length, table.weights[b]!.length) && heaviest < MAX_JOINT_WEIGHT) {
      return [a, b];
    }
  }
  return undefined;
}

/** Joins the columns a < b into one, in the place of a. Its classes are their allowed pairs. */
function joinColumns(table: WeightedTable, a: number, b: number): WeightedTable {
  const columns = table.weights.length;
  const width = table.weights[b]!.length;
  const pairs: (readonly [number, number])[] = [];
  for (const [at, meets] of table.barred.get(a * columns + b)!.entries()) {
    if (meets !== 0) pairs.push([Math.floor(at / width), at % width]);
  }
  const rest = [...table.weights.keys()].filter((column) => column !== b);
  const barred = new Map<number, Uint8Array>();
  for (const [placeC, c] of rest.entries()) {
    if (c === a) continue;
    for (const [placeD, d] of rest.entries()) {
      if (d === a || d <= c) continue;
      const bytes = table.barred.get(c * columns + d);
      if (bytes) barred.set(placeC * rest.length + placeD, bytes);
    }
    const withA = readMeets(table, a, c);
    const withB = readMeets(table, b, c);
    if (!withA && !withB) continue;
    const height = table.weights[c]!.length;
    const placeA = a;
    const first = placeA < placeC;
    const bytes = new Uint8Array(pairs.length * height);
    for (const [p, [i, j]] of pairs.entries()) {
      for (let k = 0; k < height; k++) {
        const meets = (!withA || withA(i, k)) && (!withB || withB(j, k)) ? 1 : 0;
        bytes[first ? p * height + k : k * pairs.length + p] = meets;
      }
    }
    barred.set(first ? placeA * rest.length + placeC : placeC * rest.length + placeA, bytes);
  }
  const weights = rest.map((column) =>
    column === a ? pairs.map(([i, j]) => table.weights[a]![i]! * table.weights[b]![j]!) : table.weights[column]!,
  );
  return { weights, barred };
}

/** Whether class i of one column may go with class k of another, as a function; undefined when all of them may. */
function readMeets(table: WeightedTable, a: number, c: number): ((i: number, k: number) => boolean) | undefined {
  const columns = table.weights.length;
  const bytes = table.barred.get(a < c ? a * columns + c : c * columns + a);
  if (!bytes) return undefined;
  const width = table.weights[Math.max(a, c)]!.length;
  return a < c ? (i, k) => bytes[i * width + k] !== 0 : (i, k) => bytes[k * width + i] !== 0;
}
