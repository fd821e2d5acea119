import type { FastifyRequest } from 'fastify';
import { type Access, addressKey } from '../actions/access.ts';
import { findSession, findToken, TOKEN_PREFIX } from '../actions/sign-in.ts';
import type { Config } from '../config.ts';
import type { Caller } from '../core/access/caller.ts';
import { OWNER } from '../core/access/role.ts';
import { cookieOfToken, isSame, readBearer, readCookie, standsForToken } from './credentials.ts';

const unproven = (by: 'open' | 'service-token'): Caller => ({ by, grant: OWNER, person: null, credential: null });

/** Whether everyone may do everything: no token is set, and no person exists. The address is then the loopback. */
export async function isOpen(access: Access, { token }: Pick<Config, 'token'>): Promise<boolean> {
  return token === null && !(await access.store.hasPeople());
}

/**
 * Finds out who makes a call; null when they prove nothing. Secrets of sessions and of people's tokens have 256 random bits and
 * cannot be guessed. The token of the service may be a word, so wrong ones lock the address for a while.
 * @throws Problem `too-many-attempts`
 */
export async function findCaller(
  access: Access,
  config: Pick<Config, 'token'>,
  request: FastifyRequest,
): Promise<Caller | null> {
  if (await isOpen(access, config)) return unproven('open');
  const bearer = readBearer(request);
  if (bearer !== null) {
    return bearer.startsWith(TOKEN_PREFIX)
      ? findToken(access, bearer)
      : compareToken(access, request, bearer, config.token);
  }
  const cookie = readCookie(request);
  if (cookie === null || cookie === '') return null;
  return standsForToken(cookie)
    ? compareToken(access, request, cookie, config.token === null ? null : cookieOfToken(config.token))
    : findSession(access, cookie);
}

function compareToken(access: Access, request: FastifyRequest, given: string, right: string | null): Caller | null {
  if (right === null) return null;
  return isGuessRight(access, request, given, right) ? unproven('service-token') : null;
}

/**
 * Compares a given secret with the right one, and counts a wrong one against the address. While the address is locked even the
 * right one is refused; otherwise the lock would not slow guesses.
 * @throws Problem `too-many-attempts`
 */
export function isGuessRight({ guesses }: Access, { ip }: FastifyRequest, given: string, right: string): boolean {
  guesses.requireOpen(addressKey(ip));
  if (isSame(given, right)) return true;
  guesses.addWrong(given, addressKey(ip));
  return false;
}
