import { Problem } from '../problems.ts';
import { ACCESS_PROBLEMS } from '../texts/problems/access.ts';
import type { Person } from './person.ts';
import { type Grant, includesRole, type Role, roleOn } from './role.ts';

/**
 * Who makes a call. `open`: anyone on the loopback while there is neither a token nor a person. `service-token`: who has
 * `DYEWORKS_TOKEN`. `session` and `api-token` prove a person.
 */
export interface Caller {
  readonly by: 'open' | 'service-token' | 'session' | 'api-token';
  readonly grant: Grant;
  /** Null where no person is proven. */
  readonly person: Person | null;
  /** Id of the session or of the token; null for other callers. */
  readonly credential: string | null;
}

/**
 * Requires a role on a line, or on what belongs to no line.
 * @throws Problem `not-allowed`
 */
export function requireRole(grant: Grant, needed: Role, line: string | null): void {
  const role = roleOn(grant, line);
  if (includesRole(role, needed)) return;
  throw new Problem('not-allowed', {
    detail: ACCESS_PROBLEMS['not-allowed'].role(needed, role, line),
    expected: { role: needed, ...(line !== null && { line }) },
    received: { role },
  });
}

/**
 * Who made a change. A proven person is the author; a statement that names another is refused, since the history would
 * otherwise contain either a false name or a name that the caller did not expect. Without a proven person the statement
 * counts, as long as it does not name someone who can sign in.
 * @param stated the person that the call states; null where it states none
 * @param isPerson whether that is the name of someone who can sign in
 * @throws Problem `another-person`
 */
export function proveAuthor(caller: Caller | null, stated: string | null, isPerson: boolean): string | null {
  if (caller?.person) {
    const { name } = caller.person;
    if (stated === null || isNameOf(caller.person, stated)) return name;
    throw new Problem('another-person', {
      detail: ACCESS_PROBLEMS['another-person'].signedIn(name),
      expected: name,
      received: stated,
    });
  }
  if (stated !== null && isPerson) {
    throw new Problem('another-person', {
      detail: ACCESS_PROBLEMS['another-person'].notProven(stated),
      received: stated,
    });
  }
  return stated;
}

function isNameOf({ name, account }: Person, stated: string): boolean {
  const folded = stated.normalize('NFC').trim().toLowerCase();
  return folded === name.toLowerCase() || folded === account.toLowerCase();
}
