import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { createAccessStore } from '../../db/create-access-store.ts';
import { createFiles } from '../../db/create-files.ts';
import { createPictureStore } from '../../db/create-picture-store.ts';
import { openDatabase } from '../../db/open-database.ts';
import { sweepFiles } from '../../db/sweep-files.ts';
import { type Access, GuessBook } from '../../server/actions/access.ts';
import { addPerson, makeToken } from '../../server/actions/people.ts';
import { findSession, findToken, makeReset, originOf, signIn, useReset } from '../../server/actions/sign-in.ts';
import { steadyNow } from '../../server/actions/steady-now.ts';
import { FREE_GUESSES } from '../../server/core/access/throttle.ts';
import { CallCounts } from '../../server/http/call-counts.ts';
import { expectRefusal } from '../support/refusal.ts';

// The clock of the day is set back by a day, as after a wrong battery or a wrong time server. Nothing goes early, nobody stays
// locked out or in for longer than the rules say, and nothing fails.

const DAY = 86_400_000;
const START = Date.parse('2026-03-01T08:00:00Z');
const ORIGIN = originOf(null, 'command-line', null);
const PHRASE = 'quiet harbour at dawn';
const PLACE = { address: '192.0.2.1', browser: 'test' };

let now: number;
let db: Awaited<ReturnType<typeof openDatabase>>;
let folder: string;
beforeEach(async () => {
  now = START;
  folder = mkdtempSync(join(tmpdir(), 'dyeworks-clock-'));
  db = await openDatabase(':memory:');
});
afterEach(async () => {
  vi.useRealTimers();
  await db.destroy();
  rmSync(folder, { recursive: true, force: true });
});

describe('access', () => {
  let access: Access;
  beforeEach(async () => {
    const passphrases = {
      hash: async (passphrase: string) => `hash of ${passphrase}`,
      verify: async (hash: string | null, passphrase: string) => hash === `hash of ${passphrase}`,
    };
    const guesses = new GuessBook(steadyNow);
    access = { store: createAccessStore(db), passphrases, guesses, now: () => new Date(now) };
    await addPerson(access, { account: 'olga', name: 'Olga', role: 'owner', lines: [] }, PHRASE, ORIGIN);
  });
  const enter = () => signIn(access, { account: 'olga', passphrase: PHRASE }, PLACE, null);

  it('ends sessions that were used later than now, and lets their people in again', async () => {
    const before = await enter();
    now -= DAY;
    expect(await access.store.listSessions('olga', new Date(now))).toEqual([]);
    expect(await findSession(access, before)).toBeNull();
    const after = await enter();
    expect(await findSession(access, after)).not.toBeNull();
    now += DAY / 4;
    expect(await findSession(access, after)).not.toBeNull();
    now = START;
    // not even when the clock is right again
    expect(await findSession(access, before)).toBeNull();
  });

  it('keeps sessions through a step of a minute, as time servers make them', async () => {
    const secret = await enter();
    now -= 60_000;
    expect(await findSession(access, secret)).not.toBeNull();
  });

  it('does not open a session again that has ended', async () => {
    const secret = await enter();
    now += DAY;
    expect(await findSession(access, secret)).toBeNull();
    now -= DAY;
    expect(await findSession(access, secret)).toBeNull();
  });

  it('does not make a link valid for longer; tokens end with their day', async () => {
    const { person } = (await access.store.getPerson('olga'))!;
    const { secret } = await makeToken(access, person, { name: 'x', scope: 'owner', days: 1 }, ORIGIN);
    const link = await makeReset(access, 'olga', ORIGIN);
    now -= DAY;
    const passphrase = 'another harbour here';
    await expectRefusal(() => useReset(access, { secret: link.secret, passphrase }, '::1'), 'reset-expired');
    expect(await findToken(access, secret)).not.toBeNull();
    now = START + DAY;
    expect(await findToken(access, secret)).toBeNull();
  });

  it('locks no longer than before: locks do not follow the clock of the day', () => {
    vi.useFakeTimers({ toFake: ['Date', 'performance'] });
    const guesses = new GuessBook(steadyNow);
    for (let guess = 0; guess <= FREE_GUESSES; guess++) guesses.addWrong(`wrong ${guess}`, 'address');
    expect(() => guesses.requireOpen('address')).toThrow();
    vi.setSystemTime(Date.now() - DAY);
    vi.advanceTimersByTime(2_000);
    guesses.requireOpen('address');
  });
});

it('calls per minute are counted on: a minute ends after a minute', () => {
  vi.useFakeTimers({ toFake: ['Date', 'performance'] });
  const counts = new CallCounts();
  const call = () => {
    let counted = 0;
    counts.incr('anna', (_, { current }) => (counted = current), 60_000);
    return counted;
  };
  expect([call(), call()]).toEqual([1, 2]);
  vi.setSystemTime(Date.now() - DAY);
  expect(call()).toBe(3);
  vi.advanceTimersByTime(60_000);
  expect(call()).toBe(1);
});

it('an unused file gets its whole grace time again, and no more', async () => {
  const files = createFiles(join(folder, 'files'));
  const pictures = createPictureStore(db, join(folder, 'pictures'), 1e9);
  const { sha256 } = await files.putBytes(Buffer.from('unused'));
  const sweep = (time: number) => sweepFiles({ db, files, pictures, graceMs: 7 * DAY, askedMs: 0, now: () => time });
  const later = Date.now() + 30 * DAY;
  await sweep(later);
  expect(await sweep(later - DAY)).toMatchObject({ unused: 1, removed: 0 });
  expect(await sweep(later + 5 * DAY)).toMatchObject({ removed: 0 });
  expect(await files.has(sha256)).toBe(true);
  expect(await sweep(later + 6 * DAY)).toMatchObject({ removed: 1 });
});

it('pictures in use now are not evicted before those of yesterday, also after a restart', async () => {
  const open = () => createPictureStore(db, join(folder, 'pictures'), 100_000, { usedApartMs: 0, now: () => now });
  const tenth = new Uint8Array(10_000);
  const store = open();
  for (let i = 0; i < 9; i++) await store.put(`old-${i}`, tenth, 'image/png');
  now -= DAY;
  const again = open();
  expect(await again.get('old-0')).not.toBeNull();
  for (let i = 0; i < 4; i++) await again.put(`new-${i}`, tenth, 'image/png');
  const held = await again.listHeld(['old-0', 'old-1', 'new-0', 'new-1', 'new-2', 'new-3']);
  expect([...held.keys()].sort()).toEqual(['new-0', 'new-1', 'new-2', 'new-3', 'old-0']);
});
