import type { FastifyInstance, FastifyRequest } from 'fastify';
import type { Static } from 'typebox';
import type { Access } from '../../actions/access.ts';
import {
  addPerson,
  changePassphrase,
  changePerson,
  endSessions,
  makeToken,
  requireSession,
  revokeToken,
} from '../../actions/people.ts';
import { beginSession, makeReset, originOf, type Place, signIn, signOut, useReset } from '../../actions/sign-in.ts';
import type { Config } from '../../config.ts';
import type { Origin } from '../../core/access/audit.ts';
import { type Person, TOKEN_DAYS } from '../../core/access/person.ts';
import { Problem } from '../../core/problems.ts';
import { ACCESS_PROBLEMS } from '../../core/texts/problems/access.ts';
import { REQUEST_PROBLEMS } from '../../core/texts/problems/request.ts';
import {
  CredentialsAnswer,
  LinkAnswer,
  NewPersonAnswer,
  PassphraseBody,
  PassphraseChange,
  PeopleAnswer,
  PersonAnswer,
  PersonBody,
  PersonChangeBody,
  SessionAnswer,
  SignInBody,
  TokenAnswer,
  TokenBody,
} from '../contracts/access.ts';
import { ref } from '../contracts/schema-parts.ts';
import { SessionBody } from '../contracts/service.ts';
import { clearCookie, cookieOfToken, readCookie, setCookie, standsForToken } from '../credentials.ts';
import { findCaller, isGuessRight } from '../find-caller.ts';
import { created, noContent, ok } from '../responses.ts';

type ByAccount = { Params: { account: string } };

const SIGN_IN = { tags: ['sign-in'] };
const ACCOUNT = { tags: ['account'] };
const PEOPLE = { tags: ['people'] };

/** Signing in and out. The name of the house's sign-in is null where none is configured. */
export function addSignInRoutes(app: FastifyInstance, config: Config, access: Access, house: string | null): void {
  app.get(
    '/api/session',
    { schema: { ...SIGN_IN, summary: 'Get who is signed in, and the ways to sign in', response: ok(SessionAnswer) } },
    async (request, reply): Promise<SessionAnswer> => {
      reply.header('cache-control', 'no-store');
      const caller = await findCaller(access, config, request);
      const { token } = config;
      return {
        caller: caller && {
          by: caller.by,
          account: caller.person?.account ?? null,
          name: caller.person?.name ?? null,
          role: caller.grant.role,
          lines: caller.grant.lines,
        },
        ways: { token: token !== null, passphrase: await access.store.hasPeople(), house },
      };
    },
  );

  app.post<{ Body: Static<typeof SessionBody> }>(
    '/api/session',
    {
      schema: {
        ...SIGN_IN,
        summary: 'Exchange the token of the service for a cookie, which the pages use',
        body: SessionBody,
        response: noContent,
      },
    },
    async (request, reply) => {
      if (config.token === null && !(await access.store.hasPeople())) return reply.status(204).send();
      if (config.token === null || !isGuessRight(access, request, request.body.token, config.token)) {
        throw new Problem('token-needed', { detail: REQUEST_PROBLEMS['token-needed'].wrong });
      }
      return setCookie(request, reply, cookieOfToken(config.token)).status(204).send();
    },
  );

  app.delete(
    '/api/session',
    { schema: { ...SIGN_IN, summary: 'Sign out in this browser', response: noContent } },
    async (request, reply) => {
      const caller = await findCaller(access, config, request);
      if (caller) await signOut(access, caller, request.ip);
      return clearCookie(request, reply).status(204).send();
    },
  );

  app.post<{ Body: Static<typeof SignInBody> }>(
    '/api/sign-in',
    {
      schema: {
        ...SIGN_IN,
        summary: 'Sign in with a name and a passphrase; the answer sets a cookie',
        body: SignInBody,
        response: noContent,
      },
    },
    async (request, reply) => {
      const secret = await signIn(access, request.body, placeOf(request), sessionOf(request));
      return setCookie(request, reply, secret).status(204).send();
    },
  );

  app.post<{ Body: Static<typeof PassphraseBody> }>(
    '/api/passphrase',
    {
      schema: {
        ...SIGN_IN,
        summary: 'Choose a passphrase with the secret of a link',
        body: PassphraseBody,
        response: noContent,
      },
    },
    async (request, reply) => {
      await useReset(access, request.body, request.ip);
      return reply.status(204).send();
    },
  );
}

/** The account of a signed-in person. */
export function addAccountRoutes(app: FastifyInstance, access: Access): void {
  app.get(
    '/api/account',
    {
      schema: {
        ...ACCOUNT,
        summary: 'Get the signed-in person with sessions and tokens',
        response: ok(CredentialsAnswer),
      },
    },
    async (request): Promise<CredentialsAnswer> => {
      const person = request.caller?.person;
      if (!person) throw new Problem('account-needed', { detail: ACCESS_PROBLEMS['account-needed'] });
      return listCredentials(request, person);
    },
  );

  app.put<{ Body: Static<typeof PassphraseChange> }>(
    '/api/account/passphrase',
    {
      schema: {
        ...ACCOUNT,
        summary: 'Change the passphrase; all other sessions end',
        body: PassphraseChange,
        response: noContent,
      },
    },
    async (request, reply) => {
      const person = requireSession(request.caller);
      await changePassphrase(access, person, request.body, readOrigin(request));
      const secret = await beginSession(access, person, placeOf(request), null);
      return setCookie(request, reply, secret).status(204).send();
    },
  );

  app.delete(
    '/api/account/sessions',
    { schema: { ...ACCOUNT, summary: 'Sign out everywhere', response: noContent } },
    async (request, reply) => {
      await endSessions(access, requireSession(request.caller).account, null, readOrigin(request));
      return clearCookie(request, reply).status(204).send();
    },
  );

  app.delete<{ Params: { session: string } }>(
    '/api/account/sessions/:session',
    { schema: { ...ACCOUNT, summary: 'End one session', response: noContent } },
    async (request, reply) => {
      await endSessions(access, requireSession(request.caller).account, request.params.session, readOrigin(request));
      return reply.status(204).send();
    },
  );

  app.post<{ Body: TokenBody }>(
    '/api/account/tokens',
    {
      schema: {
        ...ACCOUNT,
        summary: 'Make a token for programs; its secret is shown only here',
        body: TokenBody,
        response: created(TokenAnswer),
      },
    },
    async (request, reply) => {
      const { days = TOKEN_DAYS.usual, ...given } = request.body;
      const person = requireSession(request.caller);
      const token: TokenAnswer = await makeToken(access, person, { ...given, days }, readOrigin(request));
      return reply.status(201).header('cache-control', 'no-store').send(token);
    },
  );

  app.delete<{ Params: { token: string } }>(
    '/api/account/tokens/:token',
    { schema: { ...ACCOUNT, summary: 'Revoke a token', response: noContent } },
    async (request, reply) => {
      await revokeToken(access, requireSession(request.caller).account, request.params.token, readOrigin(request));
      return reply.status(204).send();
    },
  );

  app.get(
    '/api/people',
    { schema: { ...PEOPLE, summary: 'List the people who can sign in', response: ok(PeopleAnswer) } },
    async (): Promise<PeopleAnswer> => ({ people: await access.store.listPeople() }),
  );

  app.post<{ Body: PersonBody }>(
    '/api/people',
    {
      schema: {
        ...PEOPLE,
        summary:
          'Add a person, and make a link to choose a passphrase. The first one must be an owner; from then on every call needs a sign-in',
        body: PersonBody,
        response: created(NewPersonAnswer),
      },
    },
    async (request, reply) => {
      const { lines = [], ...given } = request.body;
      const origin = readOrigin(request);
      const person = await addPerson(access, { ...given, lines }, null, origin);
      // at once, since the first person ends the time in which a call without a sign-in could ask for a link
      const answer: NewPersonAnswer = { ...person, link: await makeReset(access, person.account, origin) };
      return reply.status(201).header('cache-control', 'no-store').send(answer);
    },
  );

  app.patch<ByAccount & { Body: PersonChangeBody }>(
    '/api/people/:account',
    {
      schema: {
        ...PEOPLE,
        summary: 'Change a person; where rights change, all their sessions end',
        body: PersonChangeBody,
        response: ok(ref(PersonAnswer)),
      },
    },
    async (request): Promise<PersonAnswer> =>
      changePerson(access, request.params.account, request.body, readOrigin(request)),
  );

  app.get<ByAccount>(
    '/api/people/:account/access',
    { schema: { ...PEOPLE, summary: 'Get a person with sessions and tokens', response: ok(CredentialsAnswer) } },
    async (request): Promise<CredentialsAnswer> =>
      listCredentials(request, (await requirePerson(request.params.account)).person),
  );

  app.post<ByAccount>(
    '/api/people/:account/link',
    {
      schema: {
        ...PEOPLE,
        summary: 'Make a link with which a person chooses a passphrase; it is shown only here and works once',
        response: created(LinkAnswer),
      },
    },
    async (request, reply) => {
      const { person } = await requirePerson(request.params.account);
      const link: LinkAnswer = await makeReset(access, person.account, readOrigin(request));
      return reply.status(201).header('cache-control', 'no-store').send(link);
    },
  );

  app.delete<ByAccount>(
    '/api/people/:account/sessions',
    { schema: { ...PEOPLE, summary: 'Sign a person out everywhere', response: noContent } },
    async (request, reply) => {
      await endSessions(access, request.params.account, null, readOrigin(request));
      return reply.status(204).send();
    },
  );

  app.delete<{ Params: { account: string; session: string } }>(
    '/api/people/:account/sessions/:session',
    { schema: { ...PEOPLE, summary: 'End one session of a person', response: noContent } },
    async (request, reply) => {
      await endSessions(access, request.params.account, request.params.session, readOrigin(request));
      return reply.status(204).send();
    },
  );

  app.delete<{ Params: { account: string; token: string } }>(
    '/api/people/:account/tokens/:token',
    { schema: { ...PEOPLE, summary: 'Revoke a token of a person', response: noContent } },
    async (request, reply) => {
      await revokeToken(access, request.params.account, request.params.token, readOrigin(request));
      return reply.status(204).send();
    },
  );

  async function requirePerson(account: string) {
    const found = await access.store.getPerson(account);
    if (found) return found;
    throw new Problem('unknown-person', {
      detail: ACCESS_PROBLEMS['unknown-person'](account.slice(0, 100)),
      received: account.slice(0, 100),
    });
  }

  async function listCredentials({ caller }: FastifyRequest, person: Person): Promise<CredentialsAnswer> {
    const sessions = await access.store.listSessions(person.account, access.now());
    return {
      person,
      sessions: sessions.map((each) => ({
        ...each,
        isThis: caller?.by === 'session' && each.id === caller.credential,
      })),
      tokens: await access.store.listTokens(person.account),
    };
  }
}

/** Who makes a call and from where, as the audit states it. */
export function readOrigin({ caller, ip }: FastifyRequest): Origin {
  return originOf(caller?.person ?? null, caller?.by ?? 'nobody', ip);
}

function placeOf(request: FastifyRequest): Place {
  return { address: request.ip, browser: String(request.headers['user-agent'] ?? '') };
}

/** The secret of the session that a browser has; null without one. */
function sessionOf(request: FastifyRequest): string | null {
  const cookie = readCookie(request);
  return cookie === null || standsForToken(cookie) ? null : cookie;
}
