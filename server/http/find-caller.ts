import type { FastifyRequest } from 'fastify';
import { type Access, addressKey } from '../actions/access.ts';
import { findSession, findToken, isTokenOfPerson } from '../actions/sign-in.ts';
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
 * cannot be guessed.
 * @throws Problem `too-many-attempts`
 */
export async function findCaller(
  access: Access,
  config: Pick<Config, 'token'>,
  request: FastifyRequest,
): Promise<Caller | null> {
  if (await isOpen(access, config)) return unproven('open');
  if (config.token !== null && hasToken(access, config.token, request)) return unproven('service-token');
  const bearer = readBearer(request);
  if (bearer !== null) return findToken(access, bearer);
  const cookie = readCookie(request);
  return cookie === null || standsForToken(cookie) ? null : findSession(access, cookie);
}

/**
 * Whether a call has the token of the service, or the cookie for it. The token may be a word, so wrong ones lock the address for a
 * while.
 * @throws Problem `too-many-attempts`
 */
export function hasToken(access: Access, token: string, request: FastifyRequest): boolean {
  const bearer = readBearer(request);
  if (bearer !== null) return !isTokenOfPerson(bearer) && isGuessRight(access, request, bearer, token);
  const cookie = readCookie(request);
  return cookie !== null && standsForToken(cookie) && isGuessRight(access, request, cookie, cookieOfToken(token));
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
