import type { AuditRecord, Origin } from '../core/access/audit.ts';
import type { Caller } from '../core/access/caller.ts';
import { checkPassphrase } from '../core/access/passphrase.ts';
import { type ApiToken, checkPerson, type NewPerson, type Person } from '../core/access/person.ts';
import { includesRole, type Role, roleOn } from '../core/access/role.ts';
import { checkName } from '../core/codes.ts';
import type { PersonChange } from '../core/ports/access.ts';
import { Problem } from '../core/problems.ts';
import { ACCESS_PROBLEMS } from '../core/texts/problems/access.ts';
import { type Access, accountKey, addressKey, recordOf } from './access.ts';
import { digestSecret, makeSecret, makeTokenName } from './secrets.ts';
import { TOKEN_PREFIX } from './sign-in.ts';

/**
 * Adds a person.
 * @param passphrase null: the person chooses one with a link
 * @throws Problem `invalid-field`, `invalid-name`, `weak-passphrase`, `duplicate-person`, `unknown-line`, `last-owner`
 */
export async function addPerson(
  access: Access,
  given: NewPerson,
  passphrase: string | null,
  origin: Origin,
): Promise<Person> {
  const person = checkPerson(given);
  const { account, role, lines } = person;
  const own = [account, person.name];
  const hash = passphrase === null ? null : await access.passphrases.hash(checkPassphrase(passphrase, own));
  return access.store.addPerson(
    person,
    hash,
    recordOf(access, origin, 'person-added', describe({ account, role, lines })),
  );
}

/**
 * Changes the name, the rights or the state of a person. Where rights change, all sessions of the person end.
 * @throws Problem `unknown-person`, `duplicate-person`, `unknown-line`, `last-owner`, `invalid-name`
 */
export async function changePerson(
  access: Access,
  account: string,
  given: PersonChange,
  origin: Origin,
): Promise<Person> {
  const change = { ...given, ...(given.name !== undefined && { name: checkName(given.name, '/name') }) };
  return access.store.changePerson(
    account,
    change,
    recordOf(access, origin, 'person-changed', describe({ account, ...change })),
  );
}

function describe({ account, ...change }: PersonChange & { readonly account: string }): AuditRecord['about'] {
  const { name, role, lines, disabled } = change;
  return {
    account,
    ...(name !== undefined && { name }),
    ...(role !== undefined && { role }),
    ...(lines !== undefined && { lines: lines.map((each) => `${each.line} ${each.role}`).join(', ') }),
    ...(disabled !== undefined && { disabled: String(disabled) }),
  };
}

/**
 * The person of a caller. Only a session may change its account: a token that leaked could otherwise make more of itself.
 * @throws Problem `account-needed` for a caller who proved no person
 */
export function requireSession(caller: Caller | null): Person {
  if (caller?.person && caller.by === 'session') return caller.person;
  throw new Problem('account-needed', { detail: ACCESS_PROBLEMS['account-needed'] });
}

/**
 * Changes the passphrase of a signed-in person, who must know the present one. All sessions end.
 * @throws Problem `wrong-passphrase`, `weak-passphrase`, `too-many-attempts`
 */
export async function changePassphrase(
  access: Access,
  person: Person,
  given: { readonly current: string; readonly passphrase: string },
  origin: Origin,
): Promise<void> {
  const { store, passphrases, guesses } = access;
  // an open browser must not be a way to guess the passphrase
  const keys = [addressKey(origin.address ?? ''), accountKey(person.account)];
  guesses.requireOpen(...keys);
  const hash = (await store.getPerson(person.account))?.hash ?? null;
  if (!(await passphrases.verify(hash, given.current.normalize('NFC')))) {
    guesses.addWrong(given.current, ...keys);
    throw new Problem('wrong-passphrase', { detail: ACCESS_PROBLEMS['wrong-passphrase'], where: '/current' });
  }
  const next = await passphrases.hash(checkPassphrase(given.passphrase, [person.account, person.name]));
  await store.setPassphrase(person.account, next, recordOf(access, origin, 'passphrase-changed'));
}

/**
 * Makes a token for programs of a person.
 * @returns the token with its secret, which is shown only here
 * @throws Problem `invalid-field` for a scope beyond the person, `too-many-tokens`
 */
export async function makeToken(
  access: Access,
  person: Person,
  given: { readonly name: string; readonly scope: Role; readonly days: number },
  origin: Origin,
): Promise<ApiToken & { readonly secret: string }> {
  const highest = person.lines.map(({ line }) => roleOn(person, line)).find((role) => includesRole(role, given.scope));
  if (!includesRole(person.role, given.scope) && highest === undefined) {
    throw new Problem('invalid-field', {
      detail: ACCESS_PROBLEMS['invalid-field'].tokenScope(given.scope, person.role),
      expected: person.role,
      received: given.scope,
      where: '/scope',
    });
  }
  const now = access.now();
  const token = {
    token: makeTokenName(),
    name: checkName(given.name, '/name'),
    scope: given.scope,
    createdAt: now.toISOString(),
    expiresAt: new Date(now.getTime() + given.days * 24 * 60 * 60 * 1000).toISOString(),
  };
  const secret = `${TOKEN_PREFIX}${token.token}_${makeSecret()}`;
  const about = { account: person.account, token: token.token, name: token.name, scope: token.scope };
  await access.store.addToken(
    person.account,
    token,
    digestSecret(secret),
    recordOf(access, origin, 'token-made', about),
  );
  return { ...token, usedAt: null, secret };
}

/** Ends one session of an account, or all. @throws Problem `unknown-session`, `unknown-person` */
export async function endSessions(access: Access, account: string, id: string | null, origin: Origin): Promise<void> {
  const about = { account, ...(id !== null && { session: id }) };
  if (await access.store.endSessions(account, id, recordOf(access, origin, 'sessions-ended', about))) return;
  throw new Problem('unknown-session', { detail: ACCESS_PROBLEMS['unknown-session'], received: id });
}

/** @throws Problem `unknown-token` */
export async function revokeToken(access: Access, account: string, token: string, origin: Origin): Promise<void> {
  if (await access.store.revokeToken(account, token, recordOf(access, origin, 'token-revoked', { account, token })))
    return;
  throw new Problem('unknown-token', { detail: ACCESS_PROBLEMS['unknown-token'], received: token });
}
