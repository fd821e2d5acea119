import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { addressKey } from '../../server/actions/access.ts';
import { readConfig } from '../../server/config.ts';
import { FREE_GUESSES } from '../../server/core/access/throttle.ts';
import { GLB } from '../support/job.ts';
import { addPerson, type SignedIn, signIn } from '../support/people.ts';
import { type Answer, startService, type TestService } from '../support/start-service.ts';

// OWASP Authentication Cheat Sheet: guesses are slowed by address and by account. RFC 6585 §4: 429 with Retry-After.

const TOKEN = 'quite-a-long-word-for-tests';

/** Locks last for seconds at first: tries again where a slow machine let one pass. */
async function untilLocked(call: (at: number) => Promise<Answer>): Promise<Answer> {
  for (let at = 0; ; at++) {
    const answer = await call(at);
    if (answer.status === 429 || at === 10) return answer;
  }
}

describe('guesses', () => {
  let service: TestService;
  const from = (address: string) => ({ 'x-forwarded-for': address });
  beforeAll(async () => {
    service = await startService({ DYEWORKS_TOKEN: TOKEN, DYEWORKS_TRUST_PROXY: '127.0.0.1' });
    // loads the description of the API, by which answers are checked
    await service.call('GET', '/api/session');
  });
  afterAll(() => service.close());

  it('of the token lock the address, for the right one too, and no other address', async () => {
    const guess = (authorization: string, address = '192.0.2.1') =>
      service.call('GET', '/api/products', undefined, { authorization, ...from(address) });
    const statuses: number[] = [];
    for (let at = 0; at < 500; at++) statuses.push((await guess(`Bearer wrong ${at}`)).status);
    // each wrong one doubles the lock, so a slow machine lets few more through
    expect(statuses.slice(0, FREE_GUESSES + 1).every((status) => status === 401)).toBe(true);
    expect(statuses.filter((status) => status !== 429).length).toBeLessThan(FREE_GUESSES + 10);
    const locked = await untilLocked(async (at) => {
      await guess(`Bearer wrong again ${at}`);
      return guess(`Bearer ${TOKEN}`);
    });
    expect([locked.status, locked.body.code]).toEqual([429, 'too-many-attempts']);
    expect(Number(locked.headers.get('retry-after'))).toBeGreaterThan(0);
    const session = await service.call('POST', '/api/session', { token: TOKEN }, from('192.0.2.1'));
    expect(session.status).toBe(429);
    expect((await guess(`Bearer ${TOKEN}`, '192.0.2.2')).status).toBe(200);
    // and supervisors get their answer
    const health = await service.call('GET', '/health', undefined, { authorization: 'Bearer x', ...from('192.0.2.1') });
    expect([health.status, health.body]).toEqual([200, { status: 'ok' }]);
  });

  it('with the same wrong token, as of a script that was not updated, do not lock', async () => {
    const old = { authorization: 'Bearer an-old-token', ...from('192.0.2.3') };
    for (let at = 0; at < 50; at++)
      expect((await service.call('GET', '/api/products', undefined, old)).status).toBe(401);
    const right = { authorization: `Bearer ${TOKEN}`, ...from('192.0.2.3') };
    expect((await service.call('GET', '/api/products', undefined, right)).status).toBe(200);
  });

  it('of a passphrase lock the account from any address, an unknown account alike, and no session', async () => {
    const authorised = { authorization: `Bearer ${TOKEN}`, ...from('192.0.2.9') };
    const person = { account: 'anna', name: 'Anna', role: 'owner' };
    const { link } = (await service.call('POST', '/api/people', person, authorised)).body;
    await service.call('POST', '/api/passphrase', { secret: link.secret, passphrase: 'quiet harbour at dawn' });
    const anna = await signIn(service, 'anna', 'quiet harbour at dawn');
    for (const account of ['anna', 'unknown']) {
      const guess = (at: number) => {
        const body = { account, passphrase: `guess number ${at}` };
        return service.call('POST', '/api/sign-in', body, from(`198.51.100.${at}`));
      };
      for (let at = 0; at <= FREE_GUESSES; at++) expect((await guess(at)).body.code).toBe('sign-in-refused');
      expect((await untilLocked((at) => guess(100 + at))).body.code).toBe('too-many-attempts');
    }
    expect((await anna.call('GET', '/api/products')).status).toBe(200);
  });

  it('count for a whole network of IPv6, and the memory for them is limited', () => {
    expect(addressKey('2001:db8:1:2::1')).toBe(addressKey('2001:db8:1:2:ffff:ffff:ffff:ffff'));
    expect(addressKey('2001:db8:1:2::1')).not.toBe(addressKey('2001:db8:1:3::1'));
    expect(addressKey('::ffff:192.0.2.1')).toBe(addressKey('192.0.2.1'));
    expect(addressKey('2001:db8::1')).toBe(addressKey('2001:db8:0:0:5::1'));
  });
});

describe('calls', () => {
  it('of one person are limited per minute, and those of others go on', async () => {
    const service = await startService({ DYEWORKS_CALLS_PER_MINUTE: '20' });
    try {
      const owner = await addPerson(service, { account: 'o', role: 'owner' });
      const other = await addPerson(service, { account: 'p', role: 'viewer' }, owner);
      let last = await other.call('GET', '/api/lines');
      for (let at = 0; at < 25; at++) last = await other.call('GET', '/api/lines');
      expect([last.status, last.body.code]).toEqual([429, 'too-many-calls']);
      expect(Number(last.headers.get('retry-after'))).toBeGreaterThan(0);
      expect((await owner.call('GET', '/api/lines')).status).toBe(200);
      expect((await service.call('GET', '/health')).status).toBe(200);
    } finally {
      await service.close();
    }
  });

  it('have no limit on the open loopback', async () => {
    const service = await startService({ DYEWORKS_CALLS_PER_MINUTE: '5' });
    try {
      for (let at = 0; at < 20; at++) expect((await service.call('GET', '/api/lines')).status).toBe(200);
    } finally {
      await service.close();
    }
  });
});

describe('uploads', () => {
  let service: TestService;
  let owner: SignedIn;
  let editor: SignedIn;
  let viewer: SignedIn;
  beforeAll(async () => {
    service = await startService({ DYEWORKS_EDITOR_LIMIT_MIB: '1' });
    owner = await addPerson(service, { account: 'o', role: 'owner' });
    editor = await addPerson(service, { account: 'e', role: 'editor' }, owner);
    viewer = await addPerson(service, { account: 'v', role: 'viewer' }, owner);
    await owner.call('POST', '/api/products', { code: 'P', name: 'P' });
  });
  afterAll(() => service.close());

  const large = new Uint8Array(1.5 * 2 ** 20);
  const put = (by: SignedIn) => by.call('PUT', '/api/products/P/model', large, GLB);

  it('are limited by role: with a stated length', async () => {
    const refused = await put(editor);
    expect([refused.status, refused.body.code, refused.body.expected]).toEqual([
      413,
      'body-too-large',
      { role: 'editor', bytes: 2 ** 20 },
    ]);
    // what an owner sends is read, and is no model
    expect((await put(owner)).body.code).toBe('model-unreadable');
    expect((await put(viewer)).body.code).toBe('not-allowed');
  });

  it('and without one', async () => {
    const send = async (by: SignedIn) => {
      const body = new ReadableStream({
        start(controller) {
          for (let at = 0; at < 24; at++) controller.enqueue(new Uint8Array(64 * 1024));
          controller.close();
        },
      });
      const init = { method: 'PUT', headers: { ...GLB, ...by.session }, body, duplex: 'half' };
      return (await fetch(`${service.url}/api/products/P/model`, init as RequestInit)).json() as Promise<{
        code: string;
      }>;
    };
    expect((await send(editor)).code).toBe('body-too-large');
    expect((await send(owner)).code).toBe('model-unreadable');
  });
});

describe('behind a proxy', () => {
  const tls = { 'x-forwarded-proto': 'https', 'x-forwarded-for': '192.0.2.7' };

  it.each([
    ['', false],
    ['127.0.0.1', true],
    ['10.0.0.0/8, 127.0.0.0/8', true],
    ['10.0.0.0/8', false],
  ])(
    'a cookie is Secure behind TLS as only a configured proxy states it: %j',
    async (DYEWORKS_TRUST_PROXY, isTrusted) => {
      const service = await startService({ DYEWORKS_TOKEN: TOKEN, DYEWORKS_TRUST_PROXY });
      try {
        const answer = await service.call('POST', '/api/session', { token: TOKEN }, tls);
        expect(/; Secure/.test(answer.headers.get('set-cookie')!)).toBe(isTrusted);
        const plain = await service.call('POST', '/api/session', { token: TOKEN });
        expect(plain.headers.get('set-cookie')).not.toMatch(/Secure/);
      } finally {
        await service.close();
      }
    },
  );

  it.each(['true', '*', 'proxy.example', '0.0.0.0/0', '::/0', '1.2.3.4/33', '1.2.3.4/8/8', '1'])(
    'refuses to trust %j',
    (DYEWORKS_TRUST_PROXY) => {
      expect(() => readConfig({ DYEWORKS_TRUST_PROXY })).toThrow('DYEWORKS_TRUST_PROXY');
    },
  );
});
