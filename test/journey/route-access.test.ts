import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { includesRole, ROLES, type Role } from '../../server/core/access/role.ts';
import { ROUTE_NEEDS } from '../../server/http/route-access.ts';
import { addPerson, type SignedIn } from '../support/people.ts';
import { startService, type TestService } from '../support/start-service.ts';

// Each route declares the role it needs, in the OpenAPI document too; each role is tried on each route.

let service: TestService;
let routes: { readonly method: string; readonly path: string; readonly role: unknown }[];
/** A token for each role. Tokens, so that no call here can end the session of a later one. */
const tokens = new Map<Role, string>();

beforeAll(async () => {
  service = await startService();
  const { paths } = (await service.call('GET', '/api/openapi.json')).body as {
    paths: Record<string, Record<string, { 'x-role'?: string }>>;
  };
  routes = Object.entries(paths).flatMap(([path, methods]) =>
    Object.entries(methods).map(([method, operation]) => ({
      method: method.toUpperCase(),
      path,
      role: operation['x-role'],
    })),
  );
  let owner: SignedIn | undefined;
  for (const role of [...ROLES].reverse()) {
    const person = await addPerson(service, { account: role, role }, owner);
    owner ??= person;
    const { body } = await person.call('POST', '/api/account/tokens', { name: 'test', scope: role });
    tokens.set(role, body.secret);
  }
});
afterAll(() => service.close());

/** An address of a route about things that do not exist. */
const addressOf = (path: string) => path.replace('{sha256}', '0'.repeat(64)).replace(/\{\w+\}/g, 'none');

async function callAs(role: Role | null, method: string, path: string) {
  const headers: Record<string, string> = role === null ? {} : { authorization: `Bearer ${tokens.get(role)}` };
  const hasBody = method !== 'GET' && method !== 'DELETE';
  const answer = await service.call(method, addressOf(path), hasBody ? {} : undefined, headers);
  return { status: answer.status, code: answer.body?.code as string | undefined, body: answer.body };
}

it('every route declares a role, and every declaration has a route', () => {
  expect(routes.length).toBeGreaterThan(80);
  const declared = new Map(
    routes.map(({ method, path, role }) => [`${method} ${path.replace(/\{(\w+)\}/g, ':$1')}`, role]),
  );
  // the document leaves out the pattern of a parameter
  const needs = new Map([...ROUTE_NEEDS].map(([route, role]) => [route.replace('(^.+)', ''), role]));
  expect([...declared].filter(([route, role]) => needs.get(route) !== role)).toEqual([]);
  // pages and documents without a schema are in no document
  const hidden = new Set(['GET /docs', 'GET /api/sign-in/house']);
  expect([...needs.keys()].filter((route) => !declared.has(route) && !hidden.has(route))).toEqual([]);
});

describe('each role on each route', () => {
  it('allows exactly those that include the needed one', async () => {
    const wrong: string[] = [];
    for (const { method, path, role: needs } of routes) {
      if (needs === 'anyone') continue;
      for (const role of ROLES) {
        const { status, code, body } = await callAs(role, method, path);
        const isRefused = code === 'not-allowed';
        if (isRefused === includesRole(role, needs as Role)) wrong.push(`${role} ${method} ${path}: ${status} ${code}`);
        if (isRefused && (status !== 403 || body.expected.role !== needs || body.received.role !== role)) {
          wrong.push(`${role} ${method} ${path}: ${JSON.stringify(body)}`);
        }
        if (status >= 500) wrong.push(`${role} ${method} ${path}: ${status} ${code}`);
      }
    }
    expect(wrong).toEqual([]);
  });

  it('needs a sign-in for all but what anyone may call', async () => {
    const wrong: string[] = [];
    for (const { method, path, role } of routes) {
      const { status, code } = await callAs(null, method, path);
      const isRefused = status === 401 && code === 'token-needed';
      // a wrong token is refused with the same code
      if (`${method} ${path}` !== 'POST /api/session' && isRefused !== (role !== 'anyone')) {
        wrong.push(`${method} ${path}: ${status} ${code}`);
      }
    }
    expect(wrong).toEqual([]);
    for (const path of ['/docs', '/api/nothing', '/nothing', '/%61pi/products']) {
      expect([path, (await fetch(service.url + path)).status]).toEqual([path, 401]);
    }
  });
});
