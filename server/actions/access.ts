import { LRUCache } from 'lru-cache';
import type { AuditEvent, AuditRecord, Origin } from '../core/access/audit.ts';
import { addWrongGuess, type Guesses, getLockS } from '../core/access/throttle.ts';
import type { AccessStore, Passphrases } from '../core/ports/access.ts';
import { Problem } from '../core/problems.ts';
import { ACCESS_PROBLEMS } from '../core/texts/problems/access.ts';
import { digestSecret } from './secrets.ts';

/** What the actions on people need. */
export interface Access {
  readonly store: AccessStore;
  readonly passphrases: Passphrases;
  readonly guesses: GuessBook;
  readonly now: () => Date;
}

/** Addresses and accounts whose wrong guesses are remembered; the least recently seen are forgotten first. */
const REMEMBERED = 10_000;

/** Counts wrong guesses by address and by account, in memory of a limited size. */
export class GuessBook {
  private readonly guesses = new LRUCache<string, Guesses>({ max: REMEMBERED });
  private readonly now: () => number;

  /** @param now in milliseconds, of a clock that is never set back: a lock would last longer by as much */
  constructor(now: () => number) {
    this.now = now;
  }

  /** @throws Problem `too-many-attempts` while one of the keys is locked */
  requireOpen(...keys: readonly string[]): void {
    const lockS = Math.max(...keys.map((key) => getLockS(this.guesses.get(key), this.now())));
    if (lockS === 0) return;
    throw new Problem('too-many-attempts', { detail: ACCESS_PROBLEMS['too-many-attempts'](lockS), retryAfterS: lockS });
  }

  /** Counts a wrong secret; the same one again counts once. */
  addWrong(secret: string, ...keys: readonly string[]): void {
    const digest = digestSecret(secret);
    for (const key of keys) this.guesses.set(key, addWrongGuess(this.guesses.get(key), digest, this.now()));
  }

  forget(...keys: readonly string[]): void {
    for (const key of keys) this.guesses.delete(key);
  }
}

export const addressKey = (address: string): string => `address ${networkOf(address)}`;
export const accountKey = (account: string): string => `account ${digestSecret(account.toLowerCase())}`;

/** A subscriber of IPv6 has a network of 64 bits, and could otherwise guess from a new address each time. */
function networkOf(address: string): string {
  const bare = address.replace(/^::ffff:(?=\d+\.)/i, '');
  if (!bare.includes(':')) return bare;
  const [head = '', tail] = bare.split('::');
  const groups = head.split(':').filter(Boolean);
  if (tail === undefined) return groups.slice(0, 4).join(':');
  const after = tail.split(':').filter(Boolean);
  const all = [...groups, ...Array<string>(Math.max(0, 8 - groups.length - after.length)).fill('0'), ...after];
  return all.slice(0, 4).join(':');
}

/** An event for the audit. */
export function recordOf(
  { now }: Pick<Access, 'now'>,
  origin: Origin,
  what: AuditEvent,
  about: Readonly<Record<string, string>> = {},
): AuditRecord {
  return { ...origin, at: now().toISOString(), what, about, status: null, refusal: null };
}
