/**
 * Numbers from 0 up to 1 that look random and are the same on every machine for one seed (mulberry32 by Tommy Ettinger, 2017,
 * CC0: his gist 46a874533244883189143505d203312c). For searches that need variety; a result never depends on anything but its input.
 */
export function makeRandom(seed: number): () => number {
  let state = seed | 0;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let mixed = Math.imul(state ^ (state >>> 15), 1 | state);
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed;
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32;
  };
}
