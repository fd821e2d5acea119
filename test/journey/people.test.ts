import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { addProduct, putLineOfFinishes } from '../support/job.ts';
import { addPerson, readCookie, type SignedIn, signIn } from '../support/people.ts';
import { readRegistryModel } from '../support/registry-models.ts';
import { startService, type TestService } from '../support/start-service.ts';

// People, roles, sessions and tokens through the API. OWASP Session Management and Authentication cheat sheets; RFC 6265 §4.1.2
// and RFC 6265bis for the attributes of cookies.

const OAK = { name: 'Oak', family: 'wood', colour: { hex: '#b08d57' } };
const asPerson = (name: string) => ({ 'dyeworks-person': encodeURIComponent(name) });

let service: TestService;
let owner: SignedIn;
let editor: SignedIn;
beforeAll(async () => {
  service = await startService();
  owner = await addPerson(service, { account: 'olga', name: 'Olga Berg', role: 'owner' });
  editor = await addPerson(service, { account: 'ed@house.example', name: 'Éd Müller', role: 'editor' }, owner);
});
afterAll(() => service.close());

const signInAs = (account: string, passphrase: string) => service.call('POST', '/api/sign-in', { account, passphrase });

describe('the first person', () => {
  it('must be an owner, and closes the loopback', async () => {
    const fresh = await startService();
    try {
      expect((await fresh.call('GET', '/api/session')).body).toMatchObject({
        caller: { by: 'open', role: 'owner' },
        ways: { token: false, passphrase: false },
      });
      const viewer = { account: 'v', name: 'V', role: 'viewer' };
      expect((await fresh.call('POST', '/api/people', viewer)).body.code).toBe('last-owner');
      expect((await fresh.call('GET', '/api/products')).status).toBe(200);
      const first = await addPerson(fresh, { account: 'o', role: 'owner' });
      expect((await fresh.call('GET', '/api/products')).body.code).toBe('token-needed');
      expect((await fresh.call('GET', '/health')).status).toBe(200);
      expect((await first.call('GET', '/api/products')).status).toBe(200);
    } finally {
      await fresh.close();
    }
  });

  it('leaves the token of the service as it was: an owner', async () => {
    const token = 'quite-a-long-word-for-tests';
    const other = await startService({ DYEWORKS_TOKEN: token });
    try {
      const authorised = { authorization: `Bearer ${token}` };
      const person = { account: 'o', name: 'Olga', role: 'owner' };
      expect((await other.call('POST', '/api/people', person, authorised)).status).toBe(201);
      expect((await other.call('GET', '/api/people', undefined, authorised)).body.people).toHaveLength(1);
      // it states who makes a change, as before, but cannot use the name of someone who can sign in
      const put = (name: string) => other.call('PUT', '/api/finishes/OAK', OAK, { ...authorised, ...asPerson(name) });
      expect((await put('A supplier')).status).toBe(201);
      for (const name of ['Olga', 'OLGA', 'o']) expect((await put(name)).body.code).toBe('another-person');
      const account = await other.call('GET', '/api/account', undefined, authorised);
      expect([account.status, account.body.code]).toEqual([403, 'account-needed']);
    } finally {
      await other.close();
    }
  });
});

describe('a session', () => {
  it('is a cookie that scripts and other sites cannot use, new at each sign-in', async () => {
    const one = await signInAs(editor.account, editor.passphrase);
    const header = one.headers.get('set-cookie')!;
    expect(header).toMatch(/;\s*HttpOnly/i);
    expect(header).toMatch(/;\s*SameSite=Strict/i);
    const cookie = readCookie(one.headers);
    expect(cookie.split('=')[1]).toMatch(/^[\w-]{43}$/); // 256 bits
    const headers = { cookie };
    const two = await service.call('POST', '/api/sign-in', { account: 'olga', passphrase: owner.passphrase }, headers);
    const next = readCookie(two.headers);
    expect(next).not.toBe(cookie);
    expect((await service.call('GET', '/api/products', undefined, headers)).status).toBe(401);
    expect((await service.call('GET', '/api/session', undefined, { cookie: next })).body.caller.name).toBe('Olga Berg');
  });

  it('ends with the sign-out, and all end with the sign-out everywhere', async () => {
    const here = await signIn(service, editor.account, editor.passphrase);
    const there = await signIn(service, editor.account, editor.passphrase);
    const out = await here.call('DELETE', '/api/session');
    expect(out.headers.get('set-cookie')).toMatch(/^dyeworks-session=; Max-Age=0/);
    expect((await here.call('GET', '/api/products')).status).toBe(401);
    expect((await there.call('GET', '/api/products')).status).toBe(200);
    const { sessions } = (await there.call('GET', '/api/account')).body;
    expect(sessions.filter(({ isThis }: { isThis: boolean }) => isThis)).toHaveLength(1);
    expect((await there.call('DELETE', '/api/account/sessions')).status).toBe(204);
    for (const each of [there, editor]) expect((await each.call('GET', '/api/products')).status).toBe(401);
    editor = await signIn(service, editor.account, editor.passphrase);
  });

  it('ends when the role changes', async () => {
    const person = await addPerson(service, { account: 'rolf', role: 'viewer' }, owner);
    expect((await owner.call('PATCH', '/api/people/ROLF', { role: 'editor' })).body.role).toBe('editor');
    expect((await person.call('GET', '/api/products')).status).toBe(401);
    const again = await signIn(service, 'rolf', person.passphrase);
    expect((await again.call('GET', '/api/session')).body.caller.role).toBe('editor');
    await owner.call('PATCH', '/api/people/rolf', { disabled: true });
    expect((await again.call('GET', '/api/products')).status).toBe(401);
    expect((await signInAs('rolf', person.passphrase)).body.code).toBe('sign-in-refused');
  });
});

describe('a passphrase', () => {
  it('is refused alike for an unknown, a disabled and a known account', async () => {
    const answers = await Promise.all(
      ['nobody-at-all', 'rolf', 'olga'].map((account) => signInAs(account, `not the right one for ${account}`)),
    );
    expect(new Set(answers.map(({ status, body }) => JSON.stringify([status, body]))).size).toBe(1);
    expect(answers[0]!.status).toBe(401);
    expect(answers[0]!.headers.get('set-cookie')).toBeNull();
  });

  it('changes for who knows the present one, and ends the other sessions', async () => {
    const person = await addPerson(service, { account: 'pia', role: 'viewer' }, owner);
    const other = await signIn(service, 'pia', person.passphrase);
    const change = (current: string, passphrase: string) =>
      person.call('PUT', '/api/account/passphrase', { current, passphrase });
    expect((await change('not this one', 'a new one for pia')).body.code).toBe('wrong-passphrase');
    expect((await change(person.passphrase, 'short')).body.code).toBe('weak-passphrase');
    const changed = await change(person.passphrase, 'a new one for pia');
    expect(changed.status).toBe(204);
    expect((await other.call('GET', '/api/products')).status).toBe(401);
    expect((await person.call('GET', '/api/products')).status).toBe(401);
    const cookie = readCookie(changed.headers);
    expect((await service.call('GET', '/api/products', undefined, { cookie })).status).toBe(200);
    expect((await signInAs('pia', person.passphrase)).status).toBe(401);
    expect((await signInAs('PIA', 'a new one for pia')).status).toBe(204);
  });

  it('is chosen with a link that works once, and not after a newer one', async () => {
    const link = async () => (await owner.call('POST', '/api/people/pia/link')).body.secret as string;
    const choose = (secret: string, passphrase = 'yet another for pia') =>
      service.call('POST', '/api/passphrase', { secret, passphrase });
    const old = await link();
    const secret = await link();
    expect((await choose(old)).body.code).toBe('reset-expired');
    expect((await choose(secret, 'pia')).body.code).toBe('weak-passphrase');
    expect((await choose(secret)).status).toBe(204);
    expect((await choose(secret)).body.code).toBe('reset-expired');
    expect((await signInAs('pia', 'yet another for pia')).status).toBe(204);
  });
});

describe('a token of a person', () => {
  it('is shown once, has at most the rights of the person and of its scope, and can be revoked', async () => {
    const made = await editor.call('POST', '/api/account/tokens', { name: 'Nightly export', scope: 'viewer', days: 2 });
    expect(made.status).toBe(201);
    const { secret, token } = made.body;
    expect(secret).toMatch(new RegExp(`^dw_${token}_[\\w-]{43}$`));
    const headers = { authorization: `Bearer ${secret}` };
    expect((await service.call('GET', '/api/products', undefined, headers)).status).toBe(200);
    const put = await service.call('PUT', '/api/finishes/OAK', OAK, headers);
    expect([put.status, put.body.code, put.body.expected]).toEqual([403, 'not-allowed', { role: 'editor' }]);
    const listed = (await editor.call('GET', '/api/account')).body.tokens;
    expect(listed).toMatchObject([{ token, name: 'Nightly export', scope: 'viewer', usedAt: expect.any(String) }]);
    expect(JSON.stringify(listed)).not.toContain(secret);
    // a leaked token cannot make more of itself
    const more = await service.call('POST', '/api/account/tokens', { name: 'x', scope: 'viewer' }, headers);
    expect(more.body.code).toBe('account-needed');
    expect((await editor.call('DELETE', `/api/account/tokens/${token}`)).status).toBe(204);
    expect((await service.call('GET', '/api/products', undefined, headers)).status).toBe(401);
    expect((await editor.call('DELETE', `/api/account/tokens/${token}`)).body.code).toBe('unknown-token');
  });

  it('cannot have a role that the person does not have', async () => {
    const made = await editor.call('POST', '/api/account/tokens', { name: 'x', scope: 'owner' });
    expect([made.status, made.body.code]).toEqual([400, 'invalid-field']);
  });

  it('of another person cannot be revoked, but by an owner', async () => {
    const { token } = (await owner.call('POST', '/api/account/tokens', { name: 'x', scope: 'viewer' })).body;
    expect((await editor.call('DELETE', `/api/account/tokens/${token}`)).body.code).toBe('unknown-token');
    const listed = (await owner.call('GET', '/api/people/olga/access')).body.tokens;
    expect(listed.map((each: { token: string }) => each.token)).toContain(token);
    expect((await owner.call('DELETE', `/api/people/olga/tokens/${token}`)).status).toBe(204);
  });
});

describe('the author of a change', () => {
  it('is the signed-in person, whatever the call leaves out', async () => {
    expect((await editor.call('PUT', '/api/finishes/PINE', OAK)).status).toBe(201);
    const named = await editor.call('PUT', '/api/finishes/PINE', { ...OAK, name: 'Pine' }, asPerson('éd müller'));
    expect(named.status).toBe(200);
    const { revisions } = (await editor.call('GET', '/api/finishes/PINE/revisions')).body;
    expect(revisions.map(({ person }: { person: string }) => person)).toEqual(['Éd Müller', 'Éd Müller']);
  });

  it('is never another: such a call changes nothing', async () => {
    const put = await editor.call('PUT', '/api/finishes/PINE', OAK, asPerson('Olga Berg'));
    expect([put.status, put.body.code, put.body.expected]).toEqual([403, 'another-person', 'Éd Müller']);
    expect((await editor.call('GET', '/api/finishes/PINE')).body.name).toBe('Pine');
  });

  it('of a decision is the signed-in approver', async () => {
    const decide = (by: SignedIn, body: object) =>
      by.call('POST', '/api/finishes/PINE/approvals', { decision: 'approved', light: 'D65', shown: 'screen', ...body });
    expect((await decide(editor, {})).body.code).toBe('not-allowed');
    const approver = await addPerson(service, { account: 'app', name: 'Ana Prado', role: 'approver' }, owner);
    expect((await decide(approver, { person: 'Olga Berg' })).body.code).toBe('another-person');
    const { status, body } = await decide(approver, {});
    expect([status, body.approvals.at(-1)?.person]).toEqual([201, 'Ana Prado']);
  });
});

describe('a role on a line', () => {
  let helper: SignedIn;
  beforeAll(async () => {
    await putLineOfFinishes({ ...service, call: owner.call });
    await owner.call('PUT', '/api/lines/other', { name: 'Other' });
    await addProduct({ ...service, call: owner.call }, 'STOOL', readRegistryModel('generic-hand/left.glb'));
    const { line } = (await owner.call('GET', '/api/products/STOOL')).body;
    helper = await addPerson(service, { account: 'hal', role: 'viewer', lines: [{ line, role: 'editor' }] }, owner);
    await owner.call('POST', '/api/products', { code: 'ELSE', name: 'Else', line: 'other' });
    await owner.call('POST', '/api/products', { code: 'FREE', name: 'Free' });
  });
  const change = (product: string, body: object) => helper.call('PATCH', `/api/products/${product}`, body);

  it('counts for its products, and not for others, nor for what belongs to no line', async () => {
    expect((await change('STOOL', { name: 'A stool' })).status).toBe(200);
    expect((await change('stool', { name: 'A stool' })).status).toBe(200);
    const refused = await change('ELSE', { name: 'x' });
    expect(refused.body).toMatchObject({ code: 'not-allowed', expected: { role: 'editor', line: 'other' } });
    expect((await change('FREE', { name: 'x' })).body.code).toBe('not-allowed');
    expect((await helper.call('PUT', '/api/finishes/PINE', OAK)).body.code).toBe('not-allowed');
    expect((await helper.call('GET', '/api/products/ELSE')).status).toBe(200);
    // importing variants adds finishes, which belong to no line
    expect((await helper.call('POST', '/api/products/STOOL/model/take-variants', {})).body.code).toBe('not-allowed');
    expect((await helper.call('DELETE', '/api/products/STOOL')).body).toMatchObject({
      code: 'not-allowed',
      expected: { role: 'owner' },
    });
  });

  it('adds products to it, and moves none in or out', async () => {
    const { line } = (await owner.call('GET', '/api/products/STOOL')).body;
    const add = (code: string, more: object) => helper.call('POST', '/api/products', { code, name: code, ...more });
    expect((await add('MINE', { line })).status).toBe(201);
    expect((await add('YOURS', { line: 'other' })).body.code).toBe('not-allowed');
    expect((await add('NONE-1', {})).body.code).toBe('not-allowed');
    for (const to of ['other', null]) expect((await change('MINE', { line: to })).body.code).toBe('not-allowed');
    expect((await change('ELSE', { line })).body.code).toBe('not-allowed');
    expect((await owner.call('GET', '/api/products/MINE')).body.line).toBe(line);
  });

  it('ends with the line: a later line of the same code inherits none', async () => {
    await owner.call('PUT', '/api/lines/brief', { name: 'Brief' });
    await owner.call('PATCH', '/api/people/hal', { lines: [{ line: 'brief', role: 'approver' }] });
    await owner.call('DELETE', '/api/lines/brief');
    await owner.call('PUT', '/api/lines/brief', { name: 'Brief' });
    const { people } = (await owner.call('GET', '/api/people')).body;
    expect(people.find(({ account }: { account: string }) => account === 'hal').lines).toEqual([]);
  });
});

describe('managing people', () => {
  it('keeps an owner', async () => {
    for (const change of [{ role: 'editor' }, { disabled: true }]) {
      expect((await owner.call('PATCH', '/api/people/olga', change)).body.code).toBe('last-owner');
    }
    expect((await owner.call('GET', '/api/people')).status).toBe(200);
  });

  it.each([
    [{ account: 'OLGA', name: 'Another', role: 'viewer' }, 'duplicate-person'],
    [{ account: 'new', name: 'olga berg', role: 'viewer' }, 'duplicate-person'],
    [{ account: 'new', name: 'Olga', role: 'viewer' }, 'duplicate-person'],
    [{ account: 'not a name', name: 'N', role: 'viewer' }, 'invalid-field'],
    [{ account: 'new', name: '', role: 'viewer' }, 'invalid-name'],
    [{ account: 'new', name: 'New', role: 'king' }, 'invalid-field'],
    [{ account: 'new', name: 'New', role: 'viewer', lines: [{ line: 'none', role: 'editor' }] }, 'unknown-line'],
    [{ account: 'new', name: 'New', role: 'viewer', lines: [{ line: 'none', role: 'owner' }] }, 'invalid-field'],
  ])('refuses %j', async (body, code) => {
    const before = (await owner.call('GET', '/api/people')).body;
    expect((await owner.call('POST', '/api/people', body)).body.code).toBe(code);
    expect((await owner.call('GET', '/api/people')).body).toEqual(before);
  });
});
