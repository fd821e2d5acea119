import { createHash, timingSafeEqual } from 'node:crypto';
import type { FastifyReply, FastifyRequest } from 'fastify';

/** Holds the proof of a sign-in: the secret of a session, or the digest of the service's token. */
const COOKIE = 'dyeworks-session';

export function readBearer(request: FastifyRequest): string | null {
  return /^Bearer +(.+)$/i.exec(request.headers.authorization ?? '')?.[1] ?? null;
}

export function readCookie(request: FastifyRequest): string | null {
  const cookies = (request.headers.cookie ?? '').split(/;\s*/);
  return cookies.find((entry) => entry.startsWith(`${COOKIE}=`))?.slice(COOKIE.length + 1) ?? null;
}

/** Scripts cannot read the cookie, pages of other sites cannot send it, and behind TLS it never travels without. */
export function setCookie(request: FastifyRequest, reply: FastifyReply, value: string): FastifyReply {
  return reply.header('set-cookie', `${COOKIE}=${value}${attributes(request)}`);
}

export function clearCookie(request: FastifyRequest, reply: FastifyReply): FastifyReply {
  return reply.header('set-cookie', `${COOKIE}=; Max-Age=0${attributes(request)}`);
}

const attributes = (request: FastifyRequest) =>
  `; Path=/; HttpOnly; SameSite=Strict${request.protocol === 'https' ? '; Secure' : ''}`;

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
