/**
 * How guesses are slowed. The first few are free, since people mistype. After that each wrong guess locks its address or
 * account for twice as long as the one before, up to a limit: a lock without an end would let anyone lock others out.
 */
export const FREE_GUESSES = 8;
const FIRST_LOCK_S = 2;
const LONGEST_LOCK_S = 15 * 60;
/** After this time without a wrong guess the count begins again. */
const FORGET_S = 60 * 60;
/** Wrong secrets that are remembered: a script that repeats one wrong token makes one guess, not thousands. */
const REMEMBERED = 16;

/** Wrong guesses of one address or account. */
export interface Guesses {
  readonly wrong: number;
  /** Milliseconds since 1970. */
  readonly lastAt: number;
  readonly lockedUntil: number;
  /** Digests of the latest wrong secrets. */
  readonly digests: readonly string[];
}

/** Seconds until the next guess is allowed, rounded up; 0 without a lock. */
export function getLockS(guesses: Guesses | undefined, now: number): number {
  return guesses === undefined ? 0 : Math.max(0, Math.ceil((guesses.lockedUntil - now) / 1000));
}

/** The guesses with a wrong one more. */
export function addWrongGuess(before: Guesses | undefined, digest: string, now: number): Guesses {
  // a clock that was set back must not keep a lock for longer than it was meant to last
  const known = before !== undefined && Math.abs(now - before.lastAt) < FORGET_S * 1000 ? before : undefined;
  if (known?.digests.includes(digest)) return known;
  const wrong = (known?.wrong ?? 0) + 1;
  const lockS = wrong <= FREE_GUESSES ? 0 : Math.min(LONGEST_LOCK_S, FIRST_LOCK_S * 2 ** (wrong - FREE_GUESSES - 1));
  return {
    wrong,
    lastAt: now,
    lockedUntil: lockS === 0 ? 0 : now + lockS * 1000,
    digests: [...(known?.digests ?? []), digest].slice(-REMEMBERED),
  };
}
