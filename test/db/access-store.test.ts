import { beforeEach, describe, expect, it } from 'vitest';
import { createAccessStore } from '../../db/create-access-store.ts';
import { openDatabase } from '../../db/open-database.ts';
import { createPassphrases } from '../../server/access/create-passphrases.ts';
import { type Access, GuessBook } from '../../server/actions/access.ts';
import { verifyAudit } from '../../server/actions/audit.ts';
import { addPerson, makeToken } from '../../server/actions/people.ts';
import { findSession, findToken, makeReset, originOf, signIn, useReset } from '../../server/actions/sign-in.ts';
import { MAX_SESSIONS, RESET_MS, SESSION_IDLE_MS, SESSION_MS } from '../../server/core/access/person.ts';
import type { AccessStore, Passphrases } from '../../server/core/ports/access.ts';
import { expectRefusal } from '../support/refusal.ts';

// The clock is given, so that hours need not pass. OWASP Session Management Cheat Sheet: an idle and an absolute limit.

const PLACE = { address: '192.0.2.1', browser: 'test' };
const ORIGIN = originOf(null, 'command-line', null);
const PHRASE = 'quiet harbour at dawn';
const START = Date.parse('2026-03-01T08:00:00Z');

let now: number;
let store: AccessStore;
let verified: (string | null)[];
let access: Access;

beforeEach(async () => {
  now = START;
  store = createAccessStore(await openDatabase(':memory:'));
  verified = [];
  // the real hash has a test of its own below
  const passphrases: Passphrases = {
    hash: async (passphrase) => `hash of ${passphrase}`,
    async verify(hash, passphrase) {
      verified.push(hash);
      return hash === `hash of ${passphrase}`;
    },
  };
  access = { store, passphrases, guesses: new GuessBook(() => now), now: () => new Date(now) };
  await addPerson(access, { account: 'olga', name: 'Olga', role: 'owner', lines: [] }, PHRASE, ORIGIN);
});

const enter = () => signIn(access, { account: 'olga', passphrase: PHRASE }, PLACE, null);

describe('a session', () => {
  it('ends when it is not used, and lives on while it is', async () => {
    const secret = await enter();
    for (let hours = 0; hours < 24; hours += 8) {
      now += 8 * 60 * 60 * 1000;
      expect(await findSession(access, secret)).not.toBeNull();
    }
    now += SESSION_IDLE_MS;
    expect(await findSession(access, secret)).toBeNull();
    expect(await store.listSessions('olga', new Date(now))).toEqual([]);
  });

  it('ends some days after the sign-in, even while it is used', async () => {
    const secret = await enter();
    while (now + SESSION_IDLE_MS / 2 < START + SESSION_MS) {
      now += SESSION_IDLE_MS / 2;
      expect(await findSession(access, secret)).not.toBeNull();
    }
    now = START + SESSION_MS;
    expect(await findSession(access, secret)).toBeNull();
  });

  it('is one of a limited number: a further one ends the oldest', async () => {
    const secrets: string[] = [];
    for (let at = 0; at <= MAX_SESSIONS; at++) {
      now += 60_000;
      secrets.push(await enter());
    }
    expect(await findSession(access, secrets[0]!)).toBeNull();
    expect(await findSession(access, secrets.at(-1)!)).not.toBeNull();
    expect(await store.listSessions('olga', new Date(now))).toHaveLength(MAX_SESSIONS);
  });
});

it('a token and a link end with their time', async () => {
  const { person } = (await store.getPerson('olga'))!;
  const { secret } = await makeToken(access, person, { name: 'x', scope: 'owner', days: 1 }, ORIGIN);
  const link = await makeReset(access, 'olga', ORIGIN);
  now += RESET_MS - 1;
  expect(await findToken(access, secret)).not.toBeNull();
  now += 1;
  expect(await findToken(access, secret)).toBeNull();
  await expectRefusal(
    () => useReset(access, { secret: link.secret, passphrase: 'another harbour here' }, '::1'),
    'reset-expired',
  );
});

it('an unknown, a disabled and a linkless account cost the same: one check of a hash', async () => {
  await addPerson(access, { account: 'dis', name: 'Dis', role: 'viewer', lines: [] }, PHRASE, ORIGIN);
  await store.changePerson(
    'dis',
    { disabled: true },
    { ...ORIGIN, at: '', what: 'x', about: {}, status: null, refusal: null },
  );
  await addPerson(access, { account: 'new', name: 'New', role: 'viewer', lines: [] }, null, ORIGIN);
  for (const account of ['unknown', 'dis', 'new']) {
    verified.length = 0;
    await expectRefusal(() => signIn(access, { account, passphrase: PHRASE }, PLACE, null), 'sign-in-refused');
    expect(verified).toEqual([null]);
  }
});

it('a change that fails leaves no entry in the audit, and entries follow each other', async () => {
  const before = await verifyAudit(access);
  const twin = { account: 'OLGA', name: 'Another', role: 'viewer', lines: [] } as const;
  await expectRefusal(() => addPerson(access, twin, PHRASE, ORIGIN), 'duplicate-person');
  expect(await verifyAudit(access)).toEqual(before);
  await Promise.all(Array.from({ length: 20 }, enter));
  expect(await verifyAudit(access)).toMatchObject({ entries: before.entries + 20, broken: null });
});

// OWASP Password Storage Cheat Sheet, Argon2id: 19 MiB, two passes, one lane.
describe('the hash of a passphrase', () => {
  it('is argon2id with the parameters of the source, and another each time', async () => {
    const passphrases = createPassphrases();
    const [one, two] = await Promise.all([passphrases.hash(PHRASE), passphrases.hash(PHRASE)]);
    expect(one).toMatch(/^\$argon2id\$v=19\$m=19456,t=2,p=1\$/);
    expect(one).not.toBe(two);
    expect(await passphrases.verify(one, PHRASE)).toBe(true);
    expect(await passphrases.verify(one, `${PHRASE} `)).toBe(false);
    expect(await passphrases.verify(null, 'the hash of no account')).toBe(false);
  });

  it('is refused to a flood, which then takes neither memory nor threads', async () => {
    const passphrases = createPassphrases();
    const outcomes = await Promise.allSettled(Array.from({ length: 60 }, () => passphrases.hash(PHRASE)));
    const refused = outcomes.filter(({ status }) => status === 'rejected') as PromiseRejectedResult[];
    expect(refused.length).toBeGreaterThan(30);
    expect(refused.every(({ reason }) => reason.code === 'sign-in-busy')).toBe(true);
    expect(await passphrases.hash(PHRASE)).toMatch(/^\$argon2id/);
  });
});
