import { hash, verify } from '@node-rs/argon2';
import pLimit from 'p-limit';
import type { Passphrases } from '../core/ports/access.ts';
import { Problem } from '../core/problems.ts';
import { ACCESS_PROBLEMS } from '../core/texts/problems/access.ts';

/**
 * argon2id with 19 MiB, two passes and one lane: the first choice of the OWASP Password Storage Cheat Sheet, section Argon2id.
 * One hash takes about 0.1 s on a small server. `algorithm: 2` is argon2id; the package has its enumeration in types only.
 */
const PARAMETERS = { algorithm: 2, memoryCost: 19_456, timeCost: 2, parallelism: 1 } as const;

/** Hashes at the same time: each takes a thread and 19 MiB. */
const AT_ONCE = 2;
/** Beyond this many waiting calls a sign-in is refused, so that a flood neither fills the memory nor holds other work. */
const WAITING = 20;

/** Hashes on threads of the runtime, never on the main thread. The package carries its binaries in the registry. */
export function createPassphrases(): Passphrases {
  const limit = pLimit(AT_ONCE);
  const run = <T>(work: () => Promise<T>): Promise<T> => {
    if (limit.pendingCount >= WAITING) {
      throw new Problem('sign-in-busy', { detail: ACCESS_PROBLEMS['sign-in-busy'] });
    }
    return limit(work);
  };
  let unused: Promise<string> | undefined;
  return {
    hash: async (passphrase) => run(() => hash(passphrase, PARAMETERS)),

    async verify(known, passphrase) {
      if (known !== null) return run(() => verify(known, passphrase));
      unused ??= hash('the hash of no account', PARAMETERS);
      const other = await unused;
      await run(() => verify(other, passphrase));
      return false;
    },
  };
}
