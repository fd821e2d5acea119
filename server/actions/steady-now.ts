/**
 * Milliseconds of a clock that nobody can set, for durations in memory: locks, limits, and times until something is tried again.
 * After `Date.now` was set back by a day, they would last a day longer.
 */
export const steadyNow = (): number => performance.now();
