import type { Origin } from '../core/access/audit.ts';
import type { Caller } from '../core/access/caller.ts';
import { checkPassphrase } from '../core/access/passphrase.ts';
import { type Person, RESET_MS } from '../core/access/person.ts';
import { limitGrant } from '../core/access/role.ts';
import { Problem } from '../core/problems.ts';
import { ACCESS_PROBLEMS } from '../core/texts/problems/access.ts';
import { type Access, accountKey, addressKey, recordOf } from './access.ts';
import { digestSecret, makeSecret } from './secrets.ts';

/** Where a sign-in comes from. */
export interface Place {
  readonly address: string;
  /** The `User-Agent`, for the list of sessions. */
  readonly browser: string;
}

/** Secrets of tokens begin with this, so that scanners of leaked secrets recognise them. */
export const TOKEN_PREFIX = 'dw_';
const TOKEN = /^dw_[0-9a-f]{10}_[\w-]{43}$/;

/** Whether a secret has the form of a person's token. */
export const isTokenOfPerson = (secret: string): boolean => TOKEN.test(secret);

/**
 * Checks a name and a passphrase, and begins a session. An unknown, a disabled and a locked account answer alike and take the
 * same time.
 * @param replaces the secret of the session that the browser had
 * @returns the secret of the session
 * @throws Problem `sign-in-refused`, `too-many-attempts`, `sign-in-busy`
 */
export async function signIn(
  access: Access,
  given: { readonly account: string; readonly passphrase: string },
  place: Place,
  replaces: string | null,
): Promise<string> {
  const { store, passphrases, guesses } = access;
  const keys = [addressKey(place.address), accountKey(given.account)];
  guesses.requireOpen(...keys);
  const known = await store.getPerson(given.account);
  const hash = known && !known.person.disabled ? known.hash : null;
  const isRight = await passphrases.verify(hash, given.passphrase.normalize('NFC'));
  // a guess that was sent at the same time may have locked the account since
  guesses.requireOpen(...keys);
  if (!isRight || !known) {
    guesses.addWrong(given.passphrase, ...keys);
    // the name is recorded only where it is an account: people type passphrases into the field for the name
    const about: Record<string, string> = known ? { account: known.person.account } : {};
    await store.addRecord(recordOf(access, nobodyAt(place.address), 'sign-in-refused', about));
    throw new Problem('sign-in-refused', { detail: ACCESS_PROBLEMS['sign-in-refused'].passphrase });
  }
  guesses.forget(accountKey(given.account));
  return beginSession(access, known.person, place, replaces);
}

/** Begins a session of someone who proved who they are. @returns its secret */
export async function beginSession(
  access: Access,
  person: Person,
  { address, browser }: Place,
  replaces: string | null,
): Promise<string> {
  const secret = makeSecret();
  const record = recordOf(access, originOf(person, 'session', address), 'signed-in');
  const session = { digest: digestSecret(secret), at: access.now(), address, browser: browser.slice(0, 200) };
  await access.store.addSession(person.account, session, replaces === null ? null : digestSecret(replaces), record);
  return secret;
}

/** The caller with a session; null when it has ended. */
export async function findSession({ store, now }: Access, secret: string): Promise<Caller | null> {
  const found = await store.useSession(digestSecret(secret), now());
  return found && { by: 'session', grant: found.person, person: found.person, credential: found.id };
}

/** Ends the session of a browser. */
export async function signOut(access: Access, caller: Caller, address: string): Promise<void> {
  const { person, credential, by } = caller;
  if (person === null || by !== 'session') return;
  await access.store.endSessions(
    person.account,
    credential,
    recordOf(access, originOf(person, by, address), 'signed-out'),
  );
}

/** The caller with a token of a person; null when it has expired or was revoked. */
export async function findToken({ store, now }: Access, secret: string): Promise<Caller | null> {
  if (!isTokenOfPerson(secret)) return null;
  const found = await store.useToken(digestSecret(secret), now());
  if (!found) return null;
  const { person, token } = found;
  return { by: 'api-token', grant: limitGrant(person, token.scope), person, credential: token.token };
}

/**
 * Makes a link with which a person chooses a passphrase. An earlier link stops working.
 * @returns the secret of the link
 * @throws Problem `unknown-person`
 */
export async function makeReset(
  access: Access,
  account: string,
  origin: Origin,
): Promise<{ readonly secret: string; readonly expiresAt: string }> {
  const secret = makeSecret();
  const expiresAt = new Date(access.now().getTime() + RESET_MS).toISOString();
  await access.store.addReset(
    account,
    digestSecret(secret),
    expiresAt,
    recordOf(access, origin, 'link-made', { account }),
  );
  return { secret, expiresAt };
}

/**
 * Sets the passphrase of the person who has a link. All their sessions end.
 * @throws Problem `reset-expired`, `weak-passphrase`, `too-many-attempts`
 */
export async function useReset(
  access: Access,
  given: { readonly secret: string; readonly passphrase: string },
  address: string,
): Promise<void> {
  const { store, passphrases, guesses } = access;
  guesses.requireOpen(addressKey(address));
  const account = await store.findReset(digestSecret(given.secret), access.now());
  const known = account === null ? null : await store.getPerson(account);
  if (!known) {
    guesses.addWrong(given.secret, addressKey(address));
    throw new Problem('reset-expired', { detail: ACCESS_PROBLEMS['reset-expired'] });
  }
  const { person } = known;
  const hash = await passphrases.hash(checkPassphrase(given.passphrase, [person.account, person.name]));
  const record = recordOf(access, originOf(person, 'nobody', address), 'link-used');
  await store.setPassphrase(person.account, hash, record);
  guesses.forget(accountKey(person.account));
}

export function originOf(person: Person | null, by: Origin['by'], address: string | null): Origin {
  return { by, account: person?.account ?? null, name: person?.name ?? null, address };
}

const nobodyAt = (address: string): Origin => originOf(null, 'nobody', address);
