import { createHash, timingSafeEqual } from 'node:crypto';
import type { FastifyReply, FastifyRequest } from 'fastify';

/**
 * `session` holds the proof of a sign-in: the secret of a session, or the digest of the service's token. `pending` names a sign-in
 * that waits for the issuer of the house.
 */
const COOKIES = { session: 'dyeworks-session', pending: 'dyeworks-sign-in' } as const;

export function readBearer(request: FastifyRequest): string | null {
  return /^Bearer +(.+)$/i.exec(request.headers.authorization ?? '')?.[1] ?? null;
}

export const readCookie = (request: FastifyRequest): string | null => readNamedCookie(request, 'session');

export function readNamedCookie(request: FastifyRequest, name: keyof typeof COOKIES): string | null {
  const cookies = (request.headers.cookie ?? '').split(/;\s*/);
  const prefix = `${COOKIES[name]}=`;
  return cookies.find((entry) => entry.startsWith(prefix))?.slice(prefix.length) || null;
}

/** Scripts cannot read the cookie, pages of other sites cannot send it, and behind TLS it never travels without. */
export function setCookie(request: FastifyRequest, reply: FastifyReply, value: string): FastifyReply {
  return reply.header('set-cookie', `${COOKIES.session}=${value}${attributes(request, 'Strict')}`);
}

export function clearCookie(request: FastifyRequest, reply: FastifyReply): FastifyReply {
  return reply.header('set-cookie', `${COOKIES.session}=; Max-Age=0${attributes(request, 'Strict')}`);
}

/** The browser sends this cookie when the site of the issuer sends it back here, so it is Lax. It proves nothing alone. */
export function setPendingCookie(request: FastifyRequest, reply: FastifyReply, value: string, maxAgeS: number) {
  return reply.header('set-cookie', `${COOKIES.pending}=${value}; Max-Age=${maxAgeS}${attributes(request, 'Lax')}`);
}

const attributes = (request: FastifyRequest, sameSite: 'Strict' | 'Lax') =>
  `; Path=/; HttpOnly; SameSite=${sameSite}${request.protocol === 'https' ? '; Secure' : ''}`;

/** The value of the cookie that stands for the token of the service. */
export function cookieOfToken(token: string): string {
  return digest(`session ${token}`);
}

/** Whether a cookie has the form of `cookieOfToken`. The secret of a session is shorter. */
export const standsForToken = (cookie: string): boolean => cookie.length >= 64;

/** Compares digests, so that the time taken reveals neither length nor content. */
export function isSame(a: string, b: string): boolean {
  return timingSafeEqual(Buffer.from(digest(a)), Buffer.from(digest(b)));
}

function digest(text: string): string {
  return createHash('sha256').update(text).digest('hex');
}
