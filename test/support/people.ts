import type { Role } from '../../server/core/access/role.ts';
import type { TestService } from './start-service.ts';

/** A person of a test service, signed in. */
export interface SignedIn {
  readonly account: string;
  readonly passphrase: string;
  /** Headers of the session. */
  readonly session: { readonly cookie: string };
  call: TestService['call'];
}

interface Given {
  readonly account: string;
  readonly name?: string;
  readonly role: Role;
  readonly lines?: readonly { readonly line: string; readonly role: string }[];
}

/** Adds a person as an owner does, chooses their passphrase with the link, and signs them in. @param by absent for the first person */
export async function addPerson(service: TestService, given: Given, by?: SignedIn): Promise<SignedIn> {
  const passphrase = `quiet harbour ${given.account} at dawn`;
  const { account, name = account, role, lines = [] } = given;
  // loads the description of the API, by which answers are checked, while the service is open
  if (!by) await service.call('GET', '/api/session');
  const added = await service.call('POST', '/api/people', { account, name, role, lines }, by?.session);
  if (added.status !== 201) throw new Error(JSON.stringify(added.body));
  await service.call('POST', '/api/passphrase', { secret: added.body.link.secret, passphrase });
  return signIn(service, account, passphrase);
}

export async function signIn(service: TestService, account: string, passphrase: string): Promise<SignedIn> {
  const answer = await service.call('POST', '/api/sign-in', { account, passphrase });
  if (answer.status !== 204) throw new Error(JSON.stringify(answer.body));
  const session = { cookie: readCookie(answer.headers) };
  return {
    account,
    passphrase,
    session,
    call: (method, path, body, headers) => service.call(method, path, body, { ...session, ...headers }),
  };
}

/** The cookie that an answer sets, as a later call sends it. */
export function readCookie(headers: Headers): string {
  return headers.get('set-cookie')!.split(';')[0]!;
}
