import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import { LRUCache } from 'lru-cache';
import type { Access } from '../../actions/access.ts';
import { signInFromHouse } from '../../actions/house-sign-in.ts';
import { makeSecret } from '../../actions/secrets.ts';
import type { HouseSignIn, PendingSignIn } from '../../core/ports/access.ts';
import { Problem } from '../../core/problems.ts';
import { readNamedCookie, setCookie, setPendingCookie } from '../credentials.ts';

/** Not below `/api/`: the browser arrives here from the site of the issuer, which may open pages only. */
export const HOUSE_CALLBACK = '/sign-in/callback';

/** Sign-ins that wait for the issuer, and how long they may take. */
const PENDING = { max: 1000, ttl: 10 * 60 * 1000 };

/** The sign-in of the house: away to the issuer, and back. */
export function addHouseRoutes(app: FastifyInstance, access: Access, house: HouseSignIn): void {
  const pending = new LRUCache<string, PendingSignIn>(PENDING);

  app.get('/api/sign-in/house', { exposeHeadRoute: false, schema: { hide: true } }, async (request, reply) => {
    try {
      const { url, ...kept } = await house.begin(ownUrl(request, HOUSE_CALLBACK).href);
      const key = makeSecret();
      pending.set(key, kept);
      return await setPendingCookie(request, reply, key, PENDING.ttl / 1000).redirect(url, 303);
    } catch (error) {
      return sendBack(request, reply, error);
    }
  });

  app.get(HOUSE_CALLBACK, { exposeHeadRoute: false, schema: { hide: true } }, async (request, reply) => {
    reply.header('cache-control', 'no-store');
    const key = readNamedCookie(request, 'pending');
    const kept = key === null ? undefined : pending.get(key);
    setPendingCookie(request, reply, '', 0);
    if (key === null || kept === undefined) return reply.redirect('/?sign-in=outdated', 303);
    // an answer counts once
    pending.delete(key);
    try {
      const identity = await house.finish(ownUrl(request, request.url), kept);
      const place = { address: request.ip, browser: String(request.headers['user-agent'] ?? '') };
      const secret = await signInFromHouse(access, house, identity, place);
      return await setCookie(request, reply, secret).redirect('/', 303);
    } catch (error) {
      return sendBack(request, reply, error);
    }
  });
}

/** The address as the browser has it. The guard has checked the Host. */
const ownUrl = ({ protocol, headers }: FastifyRequest, path: string) => new URL(path, `${protocol}://${headers.host}`);

/** People see a page, not a problem document. */
function sendBack(request: FastifyRequest, reply: FastifyReply, error: unknown): FastifyReply {
  if (!(error instanceof Problem) || (error.code !== 'sign-in-refused' && error.code !== 'house-unreachable'))
    throw error;
  // the cause may hold the answer of the issuer, with tokens
  request.log.warn({ code: error.code }, error.message);
  return reply.redirect(error.code === 'house-unreachable' ? '/?sign-in=unreachable' : '/?sign-in=refused', 303);
}
