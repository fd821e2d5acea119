/** Whole numbers up to this are exact in double precision. */
const EXACT = 2 ** 53;

/** Residues stay below 2^26, so that a product of two plus a third stays below 2^53. */
const LARGEST_PRIME_BELOW = 2 ** 26;

/** Thrown inside a plain calculation when a value would no longer be exact. */
class PrecisionLost extends Error {}

/**
 * The arithmetic of a calculation with whole numbers: plain (`modulus` 0), or in residues.
 * `fold` brings each result of `a + b * c` back into range, or throws `PrecisionLost` in the plain calculation.
 */
export interface Arithmetic {
  readonly modulus: number;
  fold(value: number): number;
}

const PLAIN: Arithmetic = {
  modulus: 0,
  fold(value) {
    if (value >= EXACT || value <= -EXACT) throw new PrecisionLost();
    return value;
  },
};

/**
 * The exact result, from 0 to `most`, of a calculation with whole numbers. It runs in plain numbers first. A plain run
 * may return a bigint where only its last steps are too large. If plain numbers are not enough, it runs in residues of
 * as many primes as needed, combined by the Chinese remainder theorem.
 */
export function computeExactly(calculate: (arithmetic: Arithmetic) => number | bigint, most: bigint): bigint {
  try {
    return BigInt(calculate(PLAIN));
  } catch (error) {
    if (!(error instanceof PrecisionLost)) throw error;
  }
  let result = 0n;
  let product = 1n;
  for (let prime = findPrimeBelow(LARGEST_PRIME_BELOW); product <= most; prime = findPrimeBelow(prime)) {
    const modulus = BigInt(prime);
    const residue = BigInt(calculate(makeModularArithmetic(prime)));
    const step = ((((residue - result) * invert(product % modulus, modulus)) % modulus) + modulus) % modulus;
    result += product * step;
    product *= modulus;
  }
  return result;
}

function makeModularArithmetic(prime: number): Arithmetic {
  return {
    modulus: prime,
    // The quotient in doubles is wrong by one at most, and the sign of the remainder does not matter.
    fold: (value) => value - Math.floor(value / prime) * prime,
  };
}

function findPrimeBelow(limit: number): number {
  for (let candidate = limit - 1; ; candidate--) {
    let prime = candidate % 2 !== 0;
    for (let d = 3; prime && d * d <= candidate; d += 2) prime = candidate % d !== 0;
    if (prime) return candidate;
  }
}

/** The inverse modulo a prime, as the power prime − 2 (Fermat). */
function invert(value: bigint, prime: bigint): bigint {
  let result = 1n;
  let base = value % prime;
  for (let power = prime - 2n; power > 0n; power >>= 1n) {
    if (power & 1n) result = (result * base) % prime;
    base = (base * base) % prime;
  }
  return result;
}
