/** Parts the pace is taken of: what was made before comes back at once, and must not count for long. */
const PARTS = 20;

/** How long what is left will take, by the last parts. */
export interface Pace {
  /** A part is done. */
  tick(): void;
  /** A part was there already: it says nothing of those to be made, and the time before the first of them does not count. */
  pass(): void;
  /** In whole milliseconds, for so many parts; 0 before the first. */
  estimate(left: number): number;
}

/** @param now in milliseconds */
export function trackPace(now: () => number): Pace {
  const ticks = [now()];
  return {
    tick() {
      ticks.push(now());
      if (ticks.length > PARTS + 1) ticks.shift();
    },
    pass() {
      if (ticks.length === 1) ticks[0] = now();
    },
    estimate(left) {
      if (ticks.length < 2) return 0;
      return Math.round((left * (ticks.at(-1)! - ticks[0]!)) / (ticks.length - 1));
    },
  };
}
