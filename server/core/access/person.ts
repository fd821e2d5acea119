import { checkName } from '../codes.ts';
import { Problem } from '../problems.ts';
import { ACCESS_PROBLEMS } from '../texts/problems/access.ts';
import type { Grant, LineRole, Role } from './role.ts';

/** The name that someone signs in with; an address of mail is allowed. Unique ignoring case. */
export const ACCOUNT_PATTERN = '^[A-Za-z0-9][A-Za-z0-9._@+-]{0,63}$';
const ACCOUNT = new RegExp(ACCOUNT_PATTERN);

/** Someone who may sign in. */
export interface Person extends Grant {
  readonly account: string;
  /** The name in histories and approvals. Unique ignoring case, so that it proves who it was. */
  readonly name: string;
  readonly disabled: boolean;
  /** ISO 8601. */
  readonly createdAt: string;
  /** False until the person has chosen one. */
  readonly hasPassphrase: boolean;
  /** Whether the account is linked to the sign-in of the house. */
  readonly hasHouse: boolean;
}

/** @throws Problem `invalid-field` */
export function checkAccount(account: string): string {
  if (ACCOUNT.test(account)) return account;
  throw new Problem('invalid-field', {
    detail: ACCESS_PROBLEMS['invalid-field'].account,
    expected: ACCOUNT_PATTERN,
    received: account.slice(0, 100),
    where: '/account',
  });
}

export interface NewPerson {
  readonly account: string;
  readonly name: string;
  readonly role: Role;
  readonly lines: readonly { readonly line: string; readonly role: LineRole }[];
}

/**
 * Returns a new person in the stored form.
 * @throws Problem `invalid-field`, `invalid-name`, `name-too-long`
 */
export function checkPerson(given: NewPerson): NewPerson {
  return { ...given, account: checkAccount(given.account), name: checkName(given.name, '/name') };
}

/** A person at one browser. */
export interface Session {
  /** Names the session in lists; it opens nothing. */
  readonly id: string;
  readonly createdAt: string;
  readonly usedAt: string;
  readonly expiresAt: string;
  readonly address: string;
  readonly browser: string;
}

/** A secret for programs. The secret itself is stored nowhere. */
export interface ApiToken {
  /** The first characters of the secret after `dw_`: they recognise it and open nothing. */
  readonly token: string;
  readonly name: string;
  /** The most that the token may do; never more than its person. */
  readonly scope: Role;
  readonly createdAt: string;
  readonly expiresAt: string;
  /** Null until it is used. */
  readonly usedAt: string | null;
}

/** A session ends this long after its last use: a working day with its breaks. */
export const SESSION_IDLE_MS = 12 * 60 * 60 * 1000;
/** A session ends this long after the sign-in, even while it is used. */
export const SESSION_MS = 7 * 24 * 60 * 60 * 1000;
/** The use of sessions and tokens is stored at most this often, so that reading does not write each time. */
export const USE_STEP_MS = 60 * 1000;
/** How far clocks are set back in normal use. What is from later than this was stored before a real step back. */
export const CLOCK_STEP_MS = 5 * 60 * 1000;
/** A link to choose a passphrase is valid for this long. */
export const RESET_MS = 24 * 60 * 60 * 1000;
export const TOKEN_DAYS = { min: 1, max: 366, usual: 90 } as const;
/** Per person, so that lists and the database stay small. */
export const MAX_TOKENS = 50;
export const MAX_SESSIONS = 20;
