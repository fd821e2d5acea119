import type { FastifyInstance, FastifyRequest } from 'fastify';
import type { Access } from '../actions/access.ts';
import type { Config, PublicPart } from '../config.ts';
import { type Caller, proveAuthor, requireRole } from '../core/access/caller.ts';
import { includesRole } from '../core/access/role.ts';
import { Problem } from '../core/problems.ts';
import { ACCESS_PROBLEMS } from '../core/texts/problems/access.ts';
import { REQUEST_PROBLEMS } from '../core/texts/problems/request.ts';
import { readBearer, readCookie } from './credentials.ts';
import { findCaller, hasToken } from './find-caller.ts';
import { checkHost, checkOrigin, checkSite, comesFromElsewhere } from './request-origin.ts';
import { PERSON, readAuthor } from './request-parsing.ts';
import { type Concern, concernOf, declareAccess, neededBy, PICTURE_ROUTE } from './route-access.ts';
import { allowCaching } from './send-bytes.ts';

declare module 'fastify' {
  interface FastifyRequest {
    /** True for an address that `DYEWORKS_PUBLIC` opens for reading, whoever calls. */
    open: boolean;
    /** True for a caller without a sign-in, where one exists but is not needed, or from a page of another site. */
    guest: boolean;
    /** Who makes the call; null for guests and on routes that need no sign-in. */
    caller: Caller | null;
    /**
     * The person who makes a change: the proven one, or as the caller states where none is proven.
     * @throws Problem `another-person`
     */
    provePerson(stated: string | null): Promise<string | null>;
  }
}

/** Routes that a public part opens for reading. Routes, not URLs: the same URL can be spelled in many ways. */
const PUBLIC: readonly [RegExp, PublicPart][] = [
  // what is not delivered yet is not public, nor is what changed from one delivery to the next
  [/^\/api\/products\/:product\/deliveries(?!\/pending|\/:\w+\/changes)(\/|$)/, 'deliveries'],
  [PICTURE_ROUTE, 'pictures'],
];

/** Where the guard looks up which line something belongs to. */
export interface Belongings {
  /** The line of a product; null without one, and for an unknown product. */
  lineOfProduct(product: string): Promise<string | null>;
  /** The line of a job. Throws Problem `unknown-job`. */
  lineOfJob(id: string): Promise<string | null>;
}

/**
 * Checks every call before its body is read: the Host is ours, the Origin is the same, no page of another site asks, and the
 * caller has the role that the route declares.
 */
export function addRequestGuard(app: FastifyInstance, config: Config, access: Access, belongings: Belongings): void {
  declareAccess(app);
  app.decorateRequest('open', false);
  app.decorateRequest('guest', false);
  app.decorateRequest('caller', null);
  app.decorateRequest('provePerson', async function (this: FastifyRequest, stated: string | null) {
    const isPerson = stated !== null && this.caller?.person === null && (await access.store.isPerson(stated));
    return proveAuthor(this.caller, stated, isPerson);
  });

  app.addHook('onRequest', async (request, reply) => {
    reply.header('x-content-type-options', 'nosniff').header('referrer-policy', 'no-referrer');
    checkHost(request, config);
    const open = isPublic(request, config);
    request.open = open;
    allowCaching(request, reply);
    if (open) reply.header('access-control-allow-origin', '*').header('cross-origin-resource-policy', 'cross-origin');
    else {
      reply.header('cross-origin-resource-policy', 'same-origin');
      checkOrigin(request);
      checkSite(request);
    }
    const needs = neededBy(request);
    if (needs === 'anyone') {
      request.guest = isGuestOfProbe(request);
      return;
    }
    const caller = await findCaller(access, config, request);
    request.caller = caller;
    // without a sign-in, callers on this machine are its owner's programs, but a page of another site is not
    request.guest = open && (caller === null || (caller.by === 'open' && comesFromElsewhere(request)));
    if (open) return;
    if (caller === null) throw await refuseUnproven(request);
    if (!includesRole(caller.grant.role, needs)) {
      const line = await findLine(concernOf(request), caller);
      // a new product: its line is in the body, which is not read yet
      if (line !== undefined) requireRole(caller.grant, needs, line);
    }
    await proveHeader(request);
  });

  // what a call adds to a line, or moves to another one, needs the role there too
  app.addHook('preHandler', async (request) => {
    const needs = neededBy(request);
    if (!namesLine(request) || request.caller === null || needs === 'anyone') return;
    const { line } = (request.body ?? {}) as { readonly line?: string | null };
    if (line !== undefined || isNewProduct(request)) requireRole(request.caller.grant, needs, line ?? null);
  });

  /** Replaces the person that a header states by the proven one, so that routes read the header alike in all cases. */
  async function proveHeader(request: FastifyRequest): Promise<void> {
    const { headers, caller } = request;
    if (headers[PERSON] === undefined && !caller?.person) return;
    if (!caller?.person && !(await access.store.hasPeople())) return;
    const person = await request.provePerson(readAuthor(headers).person);
    if (person !== null) headers[PERSON] = encodeURIComponent(person);
  }

  /** A supervisor asks without a token. The answer must not wait for the database, so only the token of the service counts. */
  function isGuestOfProbe(request: FastifyRequest): boolean {
    try {
      return config.token !== null && isProbe(request) && !hasToken(access, config.token, request);
    } catch {
      // the address is locked
      return true;
    }
  }

  async function refuseUnproven(request: FastifyRequest): Promise<Problem> {
    const hasPeople = await access.store.hasPeople();
    const gave = readBearer(request) !== null || Boolean(readCookie(request));
    const { signIn, unknown } = ACCESS_PROBLEMS['token-needed'];
    const detail = !hasPeople ? REQUEST_PROBLEMS['token-needed'].missing : gave ? unknown : signIn;
    return new Problem('token-needed', { detail });
  }

  /** The line that decides; null where something belongs to no line, undefined where only the body says it. */
  async function findLine(concern: Concern, { grant }: Caller): Promise<string | null | undefined> {
    if (grant.lines.length === 0) return null;
    switch (concern.kind) {
      case 'line':
        return concern.code;
      case 'product':
        return belongings.lineOfProduct(concern.code);
      case 'job':
        return belongings.lineOfJob(concern.code);
      case 'new-product':
        return undefined;
      case 'house':
        return null;
    }
  }
}

const isNewProduct = (request: FastifyRequest) => concernOf(request).kind === 'new-product';

/** Calls whose body may put a product into a line. */
function namesLine(request: FastifyRequest): boolean {
  return isNewProduct(request) || (request.method === 'PATCH' && request.routeOptions.url === '/api/products/:product');
}

const isProbe = ({ routeOptions: { url } }: FastifyRequest) => url === '/health' || url === '/ready';

function isPublic(request: FastifyRequest, { publicParts }: Config): boolean {
  if (request.method !== 'GET' && request.method !== 'HEAD') return false;
  const route = request.routeOptions.url ?? '';
  return PUBLIC.some(([pattern, part]) => publicParts.has(part) && pattern.test(route));
}
