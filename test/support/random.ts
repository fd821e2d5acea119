/** Repeatable random numbers for tests: the same seed gives the same run everywhere (mulberry32). */
export function createRandom(start: number): {
  /** 0 ≤ x < 1. */
  next(): number;
  /** A whole number from 0 up to, but not including, `below`. */
  whole(below: number): number;
  pick<T>(list: readonly T[]): T;
} {
  let state = start >>> 0;
  const next = () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = state;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
  const whole = (below: number) => Math.floor(next() * below);
  return { next, whole, pick: (list) => list[whole(list.length)]! };
}
