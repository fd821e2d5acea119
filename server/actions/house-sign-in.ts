import { ACCOUNT_PATTERN, type Person } from '../core/access/person.ts';
import type { HouseIdentity, HouseSignIn } from '../core/ports/access.ts';
import { Problem } from '../core/problems.ts';
import { ACCESS_PROBLEMS } from '../core/texts/problems/access.ts';
import { type Access, recordOf } from './access.ts';
import { addPerson } from './people.ts';
import { beginSession, originOf, type Place } from './sign-in.ts';

const ACCOUNT = new RegExp(ACCOUNT_PATTERN);

/**
 * Begins a session of the person whom the house names. The link of issuer and subject counts. The first time, a verified address
 * of mail that is a sign-in name makes the link; names that people can choose themselves never do. People whom no owner has added
 * get the role that the settings give, or are refused.
 * @returns the secret of the session
 * @throws Problem `sign-in-refused`
 */
export async function signInFromHouse(
  access: Access,
  house: Pick<HouseSignIn, 'role'>,
  identity: HouseIdentity,
  place: Place,
): Promise<string> {
  const person =
    (await access.store.findByHouse(identity.house)) ??
    (await linkKnown(access, identity, place.address)) ??
    (await addNew(access, house, identity, place.address));
  if (person === null || person.disabled) {
    await access.store.addRecord(recordOf(access, originOf(person, 'nobody', place.address), 'sign-in-refused'));
    throw new Problem('sign-in-refused', { detail: ACCESS_PROBLEMS['sign-in-refused'].house });
  }
  return beginSession(access, person, place, null);
}

async function linkKnown(access: Access, { house, mail }: HouseIdentity, address: string): Promise<Person | null> {
  const known = mail === null ? null : await access.store.getPerson(mail);
  if (!known || known.person.disabled) return null;
  const record = recordOf(access, originOf(known.person, 'nobody', address), 'house-linked');
  return (await access.store.linkHouse(known.person.account, house, record)) ? known.person : null;
}

async function addNew(
  access: Access,
  { role }: Pick<HouseSignIn, 'role'>,
  { house, mail, name }: HouseIdentity,
  address: string,
): Promise<Person | null> {
  // the first person must be an owner, whom only the command line or an open service can add
  if (role === null || mail === null || !ACCOUNT.test(mail) || !(await access.store.hasPeople())) return null;
  if (await access.store.getPerson(mail)) return null;
  const shown = name === null || (await access.store.isPerson(name)) ? mail : name.slice(0, 120);
  const origin = originOf(null, 'nobody', address);
  const person = await addPerson(access, { account: mail, name: shown, role, lines: [] }, null, origin);
  await access.store.linkHouse(mail, house, recordOf(access, originOf(person, 'nobody', address), 'house-linked'));
  return person;
}
