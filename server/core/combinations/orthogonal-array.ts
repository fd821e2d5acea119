/**
 * Makes rows in which any two columns contain every pair of their finishes, from an orthogonal array over a finite
 * field (Bush 1952). With q elements, row (a, b) has a·x + b in the column of the element x, and a in one more column.
 * −1 means any finish: the array has more levels than the column. Rows with fewer than two finishes are left out.
 * `sizes` are the columns' numbers of finishes; q is the smallest prime power that reaches the largest of them and
 * whose q + 1 columns are enough.
 */
export function planOrthogonalRows(sizes: readonly number[]): number[][] {
  const q = findPrimePower(Math.max(2, sizes.length - 1, ...sizes));
  const field = makeField(q)!;
  const rows: number[][] = [];
  for (let a = 0; a < q; a++) {
    for (let b = 0; b < q; b++) {
      const row = sizes.map((size, column) => {
        const level = column === q ? a : field.add(field.multiply(a, column), b);
        return level < size ? level : -1;
      });
      if (row.filter((level) => level >= 0).length >= Math.min(2, sizes.length)) rows.push(row);
    }
  }
  return rows;
}

/** Number of rows of an orthogonal array for these columns, before any are left out. */
export function countOrthogonalRows(sizes: readonly number[]): number {
  return findPrimePower(Math.max(2, sizes.length - 1, ...sizes)) ** 2;
}

/**
 * The fewest possible rows for columns of two finishes (Katona; Kleitman and Spencer; in Lawrence et al., A Survey of
 * Binary Covering Arrays, Electronic Journal of Combinatorics 18, 2011). n rows are enough for up to C(n−1, ⌈n/2⌉)
 * columns. One row is all 0; in the others each column has its own set of ⌈n/2⌉ ones. Two such sets differ, and they
 * overlap, since together they have more than n − 1 ones.
 */
export function planBinaryRows(columns: number): number[][] {
  let rows = 4;
  while (countSubsets(rows - 1, Math.ceil(rows / 2)) < columns) rows++;
  const ones = Math.ceil(rows / 2);
  const result = Array.from({ length: rows }, () => new Array<number>(columns).fill(0));
  const chosen = Array.from({ length: ones }, (_, i) => i);
  for (let column = 0; column < columns; column++) {
    for (const row of chosen) result[row + 1]![column] = 1;
    let turn = ones - 1;
    while (turn >= 0 && chosen[turn] === rows - 1 - ones + turn) turn--;
    if (turn < 0) break;
    chosen[turn]!++;
    for (let i = turn + 1; i < ones; i++) chosen[i] = chosen[i - 1]! + 1;
  }
  return result;
}

function countSubsets(n: number, k: number): number {
  let count = 1;
  for (let i = 0; i < k; i++) count = (count * (n - i)) / (i + 1);
  return Math.round(count);
}

/** A finite field of q elements, written 0 … q−1; 0 and 1 are its zero and one. */
interface FiniteField {
  readonly order: number;
  add(a: number, b: number): number;
  multiply(a: number, b: number): number;
}

/** The smallest prime power that is at least `least`: fields exist only for these orders. */
export function findPrimePower(least: number): number {
  for (let q = Math.max(2, least); ; q++) if (splitPrimePower(q)) return q;
}

/**
 * The field of q elements. An element is a polynomial over the prime field; its coefficients are the digits of the
 * number in base p. Products are modulo an irreducible polynomial, the first one found. Undefined when q is not a prime
 * power.
 */
export function makeField(q: number): FiniteField | undefined {
  const split = splitPrimePower(q);
  if (!split) return undefined;
  const { prime, degree } = split;
  if (degree === 1) return { order: q, add: (a, b) => (a + b) % q, multiply: (a, b) => (a * b) % q };

  const sums = new Uint32Array(q * q);
  for (let a = 0; a < q; a++) {
    for (let b = 0; b < q; b++) sums[a * q + b] = addDigits(a, b, prime);
  }
  for (let rest = 0; rest < q; rest++) {
    const products = multiplyAll(prime, degree, q, rest);
    if (products) return { order: q, add: (a, b) => sums[a * q + b]!, multiply: (a, b) => products[a * q + b]! };
  }
  return undefined;
}

function splitPrimePower(q: number): { prime: number; degree: number } | undefined {
  if (!Number.isInteger(q) || q < 2) return undefined;
  let prime = 2;
  while (prime * prime <= q && q % prime !== 0) prime++;
  if (q % prime !== 0) prime = q;
  let degree = 0;
  let rest = q;
  for (; rest % prime === 0; rest /= prime) degree++;
  return rest === 1 ? { prime, degree } : undefined;
}

function addDigits(a: number, b: number, prime: number): number {
  let sum = 0;
  for (let place = 1; a > 0 || b > 0; place *= prime) {
    sum += (((a % prime) + (b % prime)) % prime) * place;
    a = Math.floor(a / prime);
    b = Math.floor(b / prime);
  }
  return sum;
}

/** All products, with `rest` in place of x^degree; undefined when two elements other than 0 have the product 0. */
function multiplyAll(prime: number, degree: number, q: number, rest: number): Uint32Array | undefined {
  const products = new Uint32Array(q * q);
  const top = prime ** (degree - 1);
  const timesX = (a: number) => {
    let shifted = (a % top) * prime;
    for (let lead = Math.floor(a / top); lead > 0; lead--) shifted = addDigits(shifted, rest, prime);
    return shifted;
  };
  for (let a = 1; a < q; a++) {
    for (let b = 1; b < q; b++) {
      let product = 0;
      let power = a;
      for (let digits = b; digits > 0; digits = Math.floor(digits / prime)) {
        for (let times = digits % prime; times > 0; times--) product = addDigits(product, power, prime);
        power = timesX(power);
      }
      if (product === 0) return undefined;
      products[a * q + b] = product;
    }
  }
  return products;
}
