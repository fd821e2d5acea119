import { describe, expect, it } from 'vitest';
import { proveAuthor, requireRole } from '../../../../server/core/access/caller.ts';
import { checkPassphrase } from '../../../../server/core/access/passphrase.ts';
import { checkAccount, type Person } from '../../../../server/core/access/person.ts';
import { includesRole, limitGrant, ROLES, roleOn } from '../../../../server/core/access/role.ts';
import { addWrongGuess, FREE_GUESSES, type Guesses, getLockS } from '../../../../server/core/access/throttle.ts';
import { expectRefusal } from '../../../support/refusal.ts';

const GRANT = { role: 'viewer', lines: [{ line: 'Cafe', role: 'editor' }] } as const;

describe('roles', () => {
  it('include the ones before them', () => {
    for (const [at, role] of ROLES.entries()) {
      expect(ROLES.filter((needed) => includesRole(role, needed))).toEqual(ROLES.slice(0, at + 1));
    }
  });

  it('can be higher on single lines, ignoring case, and never lower', () => {
    expect(roleOn(GRANT, 'CAFE')).toBe('editor');
    expect(roleOn(GRANT, 'other')).toBe('viewer');
    expect(roleOn(GRANT, null)).toBe('viewer');
    expect(roleOn({ ...GRANT, role: 'approver' }, 'cafe')).toBe('approver');
  });

  it('are limited by the scope of a token', () => {
    expect(limitGrant({ role: 'owner', lines: [] }, 'editor').role).toBe('editor');
    expect(limitGrant(GRANT, 'owner')).toEqual(GRANT);
    expect(limitGrant(GRANT, 'viewer')).toEqual({ role: 'viewer', lines: [] });
    expect(limitGrant({ role: 'viewer', lines: [{ line: 'a', role: 'approver' }] }, 'editor').lines[0]!.role).toBe(
      'editor',
    );
  });

  it('refuse with the role that is needed, and where', async () => {
    const problem = await expectRefusal(() => requireRole(GRANT, 'approver', 'cafe'), 'not-allowed');
    expect(problem.more).toMatchObject({ expected: { role: 'approver', line: 'cafe' }, received: { role: 'editor' } });
    expect(() => requireRole(GRANT, 'editor', 'cafe')).not.toThrow();
  });
});

describe('the author of a change', () => {
  const person: Person = {
    account: 'anna@house.example',
    name: 'Anna Ek',
    role: 'editor',
    lines: [],
    disabled: false,
    createdAt: '',
    hasPassphrase: true,
    hasHouse: false,
  };
  const caller = { by: 'session', grant: person, person, credential: 'x' } as const;

  it('is the proven person, whom the call may name', () => {
    for (const stated of [null, 'Anna Ek', 'ANNA EK', 'anna@house.example']) {
      expect(proveAuthor(caller, stated, false)).toBe('Anna Ek');
    }
  });

  it('cannot be another person', async () => {
    await expectRefusal(() => proveAuthor(caller, 'Ben', false), 'another-person');
    const unproven = { ...caller, by: 'service-token', person: null } as const;
    await expectRefusal(() => proveAuthor(unproven, 'Anna Ek', true), 'another-person');
    expect(proveAuthor(unproven, 'A supplier', false)).toBe('A supplier');
  });
});

// NIST SP 800-63B-4 §3.1.1.2: a minimum length, no rules of composition, a list of common ones, all of Unicode.
describe('a passphrase', () => {
  it.each([
    'short',
    // 14 characters
    'harbour at one',
    'x'.repeat(257),
    'PasswordPassword',
    'password123456!',
    'Correct-Horse Battery.Staple',
    'aaaaaaaaaaaaaaaa',
    'abcabcabcabcabc',
    'abcdefghijklmnop',
    'zyxwvutsrqponmlk',
    'qwertyuiopasdfgh',
    '123456789012345',
    'Anna-Example 2026',
    'anna.example.2026!',
  ])('is refused: %s', async (passphrase) => {
    const problem = await expectRefusal(() => checkPassphrase(passphrase, ['anna', 'Anna Example']), 'weak-passphrase');
    expect(JSON.stringify(problem.more)).not.toContain(passphrase);
  });

  it.each([
    // 15 characters
    'harbour at noon',
    'lowercaseonly-nodigit',
    'наша тихая гавань',
    '静かな港の夜明けに鐘が二度鳴る',
    ' spaces count too ',
  ])('is allowed without rules of composition: %s', (passphrase) => {
    expect(checkPassphrase(passphrase, ['anna'])).toBe(passphrase.normalize('NFC'));
  });

  it('is the same however its accents are typed', () => {
    expect(checkPassphrase('café near the harbour', [])).toBe(checkPassphrase('café near the harbour', []));
  });
});

describe('wrong guesses', () => {
  const guess = (count: number, start?: Guesses) => {
    let known = start;
    for (let at = 0; at < count; at++) known = addWrongGuess(known, `guess ${(known?.wrong ?? 0) + 1}`, 0);
    return known;
  };

  it('lock for twice as long each time, up to a limit', () => {
    expect(getLockS(guess(FREE_GUESSES), 0)).toBe(0);
    const locks = [1, 2, 3, 4].map((more) => getLockS(guess(FREE_GUESSES + more), 0));
    expect(locks).toEqual([2, 4, 8, 16]);
    expect(getLockS(guess(FREE_GUESSES + 500), 0)).toBe(15 * 60);
  });

  it('count the same secret once: a script with an old token does not lock its address', () => {
    let known: Guesses | undefined;
    for (let at = 0; at < 1000; at++) known = addWrongGuess(known, 'the old token', at);
    expect(known!.wrong).toBe(1);
  });

  it('are forgotten after an hour, and a clock that was set back does not lock for longer', () => {
    const known = guess(FREE_GUESSES + 10)!;
    expect(addWrongGuess(known, 'another', 2 * 60 * 60 * 1000).wrong).toBe(1);
    const back = addWrongGuess({ ...known, lastAt: 1e12, lockedUntil: 1e12 + 1000 }, 'another', 0);
    expect(back.wrong).toBe(1);
  });
});

it('a sign-in name may be an address of mail, and nothing that breaks a URL or a header', async () => {
  for (const account of ['anna', 'anna@house.example', 'Ben-2', 'c+d']) expect(checkAccount(account)).toBe(account);
  for (const account of ['', '@x', 'a b', 'a/b', 'a\r\nb', 'å', 'x'.repeat(65), '=cmd']) {
    await expectRefusal(() => checkAccount(account), 'invalid-field');
  }
});
