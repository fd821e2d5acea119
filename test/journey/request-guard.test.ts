import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { ConfigError, readConfig } from '../../server/config.ts';
import { addProduct, putLineOfFinishes } from '../support/job.ts';
import { rawRequest } from '../support/raw-request.ts';
import { readRegistryModel } from '../support/registry-models.ts';
import { startService, type TestService } from '../support/start-service.ts';
import { readStoredState } from '../support/stored-state.ts';

// From the contract: “Host and Origin are checked on every call”; with DYEWORKS_TOKEN “every call needs Authorization:
// Bearer … (pages: an HttpOnly, SameSite=Strict cookie got with it)”; DYEWORKS_PUBLIC says what may be read without it.

const TOKEN = 'quite-a-long-word-for-tests';
const AUTHORISED = { authorization: `Bearer ${TOKEN}` };
const JSON_TYPE = { 'content-type': 'application/json' };
const PRODUCT = JSON.stringify({ code: 'NEW', name: 'New' });

describe('an open service on the loopback', () => {
  let service: TestService;
  let own: string;
  beforeAll(async () => {
    service = await startService();
    own = new URL(service.url).host;
  });
  afterAll(() => service.close());

  it.each([
    'evil.example',
    'evil.example:80',
    '127.0.0.1.evil.example',
    'localhost.evil.example:4460',
    '127.0.0.1@evil.example',
  ])('does not answer as %j', async (host) => {
    for (const [method, path] of [
      ['GET', '/api/products'],
      ['GET', '/health'],
      ['GET', '/'],
      ['POST', '/api/products'],
    ] as const) {
      const body = method === 'POST' ? PRODUCT : undefined;
      const answer = await rawRequest(service.url, path, { method, headers: { ...JSON_TYPE, host }, body });
      expect([path, answer.status]).toEqual([path, 403]);
      expect(JSON.parse(answer.body).code).toBe('foreign-host');
    }
    expect((await service.call('GET', '/api/products')).body.products).toEqual([]);
  });

  it('answers as localhost and by its address', async () => {
    const { port } = new URL(service.url);
    for (const host of [own, `localhost:${port}`, 'LOCALHOST', `[::1]:${port}`])
      expect((await rawRequest(service.url, '/api/products', { headers: { host } })).status).toBe(200);
  });

  it.each(['http://evil.example', 'https://evil.example', 'null', 'http://127.0.0.1:1', 'http://localhost', ''])(
    'refuses calls from the origin %j',
    async (origin) => {
      for (const method of ['GET', 'POST', 'PUT', 'DELETE', 'OPTIONS']) {
        const answer = await rawRequest(service.url, method === 'PUT' ? '/api/lines/L' : '/api/products', {
          method,
          headers: { ...JSON_TYPE, origin },
          body: method === 'POST' ? PRODUCT : method === 'PUT' ? '{"name":"L"}' : undefined,
        });
        expect([method, answer.status]).toEqual([method, 403]);
        expect(answer.headers['access-control-allow-origin']).toBeUndefined();
      }
      expect((await service.call('GET', '/api/products')).body.products).toEqual([]);
      expect((await service.call('GET', '/api/lines')).body.lines).toEqual([]);
    },
  );

  it('accepts calls from its own pages', async () => {
    const headers = { origin: service.url.replace(/\/$/, '') };
    expect((await rawRequest(service.url, '/api/products', { headers })).status).toBe(200);
  });

  it('sends nosniff and a policy with every answer', async () => {
    for (const path of ['/health', '/api/products', '/api/nothing', '/docs', '/api/openapi.json', '/nothing']) {
      const { headers } = await rawRequest(service.url, path);
      expect(headers['x-content-type-options'], path).toBe('nosniff');
      expect(headers['content-security-policy'], path).toMatch(/default-src/);
    }
  });
});

describe('a service with a token', () => {
  let service: TestService;
  beforeAll(async () => {
    service = await startService({ DYEWORKS_TOKEN: TOKEN });
  });
  afterAll(() => service.close());

  // other spellings of the same path, which a router treats as the same
  const SPELLINGS = [
    '/api/products',
    '/%61pi/products',
    '/api/%70roducts',
    '/ap%69/products',
    '/api/products?x=1',
    '/api/products#x',
  ];

  it.each([...SPELLINGS, '/api/finishes', '/api/openapi.json', '/api/products/X/deliveries', '/docs', '/%64ocs'])(
    'does not answer %s without it',
    async (path) => {
      const answer = await rawRequest(service.url, path);
      expect(answer.status === 401 || answer.status === 404, `${answer.status} ${answer.body}`).toBe(true);
      expect(answer.body).not.toMatch(/"products"|"status":"ok"|"openapi"/);
    },
  );

  it('asks for it by the rules of HTTP', async () => {
    const answer = await service.call('GET', '/api/products');
    expect([answer.status, answer.body.code]).toEqual([401, 'token-needed']);
    expect(answer.headers.get('www-authenticate')).toMatch(/^Bearer/); // RFC 9110 §11.6.1
  });

  it.each([
    ['another', 'Bearer another-long-word-for-tests'],
    ['a part of it', `Bearer ${TOKEN.slice(0, -1)}`],
    ['more than it', `Bearer ${TOKEN}x`],
    ['nothing', 'Bearer '],
    ['it in another scheme', `Basic ${Buffer.from(`x:${TOKEN}`).toString('base64')}`],
  ])('refuses a call with %s', async (_, authorization) => {
    expect((await service.call('GET', '/api/products', undefined, { authorization })).status).toBe(401);
  });

  it.each([
    ['POST', '/api/products', PRODUCT],
    ['POST', '/%61pi/products', PRODUCT],
    ['PUT', '/api/lines/L', '{"name":"L"}'],
  ])('stores nothing without it: %s %s', async (method, path, body) => {
    const before = await readStoredState(service, AUTHORISED);
    const answer = await rawRequest(service.url, path, { method, headers: JSON_TYPE, body });
    expect([401, 404]).toContain(answer.status);
    expect(await readStoredState(service, AUTHORISED)).toEqual(before);
  });

  it('answers with it', async () => {
    expect((await service.call('GET', '/api/products', undefined, AUTHORISED)).status).toBe(200);
  });

  it('allows calls that cost the studio minutes only with the token', async () => {
    const open = await startService({ DYEWORKS_TOKEN: TOKEN, DYEWORKS_PUBLIC: 'pictures' });
    try {
      const path = '/api/products/NONE/picture.png';
      for (const query of ['widthMm=210&heightMm=297&ppi=300', 'samples=64', 'direct=1']) {
        expect((await open.call('GET', `${path}?${query}`)).status).toBe(401);
        const known = await open.call('GET', `${path}?${query}`, undefined, { authorization: `Bearer ${TOKEN}` });
        expect(known.status).toBe(404);
      }
      expect((await open.call('GET', `${path}?size=64`)).status).toBe(404);
    } finally {
      await open.close();
    }
  });

  it('gives a cookie for it, HttpOnly and SameSite=Strict, and for nothing else', async () => {
    const refused = await service.call('POST', '/api/session', { token: 'not-the-right-one' });
    expect([refused.status, refused.headers.get('set-cookie')]).toEqual([401, null]);
    const given = await service.call('POST', '/api/session', { token: TOKEN });
    expect(given.status).toBeLessThan(300);
    const header = given.headers.get('set-cookie')!;
    expect(header).toMatch(/;\s*HttpOnly/i);
    expect(header).toMatch(/;\s*SameSite=Strict/i);
    expect(header).not.toContain(TOKEN);
    const cookie = header.split(';')[0]!;
    expect((await service.call('GET', '/api/products', undefined, { cookie })).status).toBe(200);
    expect((await service.call('GET', '/api/products', undefined, { cookie: `theme=dark; ${cookie}` })).status).toBe(
      200,
    );
    expect((await service.call('GET', '/api/products', undefined, { cookie: `${cookie}0` })).status).toBe(401);
    const before = await readStoredState(service, AUTHORISED);
    const foreign = { cookie, origin: 'http://evil.example', ...JSON_TYPE };
    const answer = await rawRequest(service.url, '/api/products', { method: 'POST', headers: foreign, body: PRODUCT });
    expect(answer.status).toBe(403);
    expect(await readStoredState(service, AUTHORISED)).toEqual(before);
  });
});

describe('a service whose deliveries are public', () => {
  let service: TestService;
  beforeAll(async () => {
    const open = await startService({ DYEWORKS_TOKEN: TOKEN, DYEWORKS_PUBLIC: 'deliveries' });
    service = {
      ...open,
      call: (method, path, body, headers) => open.call(method, path, body, { ...AUTHORISED, ...headers }),
    };
    await putLineOfFinishes(service);
    const [slot] = await addProduct(service, 'CHAIR', readRegistryModel('generic-hand/left.glb'));
    const variants = [{ code: 'A', name: 'A', choices: { [slot!]: 'OAK-1' } }];
    await service.call('PUT', '/api/products/CHAIR/schedule', { default: 'A', variants });
    expect((await service.call('POST', '/api/products/CHAIR/deliveries', {})).status).toBe(201);
  });
  afterAll(() => service.close());

  it.each(['', '/1', '/1/manifest.json', '/1/model.glb'])(
    'allows reading deliveries%s without the token',
    async (path) => {
      const answer = await rawRequest(service.url, `/api/products/CHAIR/deliveries${path}`);
      expect(answer.status).toBe(200);
    },
  );

  it.each([
    ['GET', '/api/products'],
    ['GET', '/api/products/CHAIR'],
    ['GET', '/api/products/CHAIR/model.glb'],
    ['GET', '/api/products/CHAIR/schedule'],
    ['GET', '/api/products/CHAIR/picture.png'],
    ['GET', '/api/finishes/OAK-1/swatch.png?kind=chip'],
    ['POST', '/api/products/CHAIR/deliveries'],
    ['GET', '/api/products/CHAIR/deliveries/pending'],
    ['GET', '/api/products/CHAIR/deliveries/../schedule'],
    ['GET', '/api/products/CHAIR/deliveries/%2e%2e/schedule'],
    ['GET', '/api/products?/api/products/CHAIR/deliveries'],
    ['GET', '/%61pi/products/CHAIR/schedule'],
  ])('and nothing else: %s %s', async (method, path) => {
    const answer = await rawRequest(service.url, path, {
      method,
      headers: JSON_TYPE,
      body: method === 'POST' ? '{}' : undefined,
    });
    expect([401, 404]).toContain(answer.status);
    expect(answer.headers['content-type']).toMatch(/^application\/problem\+json/);
    expect((await service.call('GET', '/api/products/CHAIR/deliveries')).body.deliveries).toHaveLength(1);
  });

  it('still checks the Host', async () => {
    const headers = { host: 'evil.example' };
    expect((await rawRequest(service.url, '/api/products/CHAIR/deliveries', { headers })).status).toBe(403);
  });
});

describe('the settings of the request guard', () => {
  it('refuses a host that others can reach without a token, and says why', () => {
    for (const DYEWORKS_HOST of ['0.0.0.0', '::', '192.0.2.7', 'studio.example']) {
      expect(() => readConfig({ DYEWORKS_HOST })).toThrow(ConfigError);
      expect(() => readConfig({ DYEWORKS_HOST })).toThrow(/DYEWORKS_TOKEN/);
      expect(readConfig({ DYEWORKS_HOST, DYEWORKS_TOKEN: TOKEN }).host).toBe(DYEWORKS_HOST);
    }
  });

  it('has the defaults of the contract', () => {
    const config = readConfig({});
    expect(config).toMatchObject({
      host: '127.0.0.1',
      port: 4460,
      token: null,
      demo: true,
      bodyLimitBytes: 512 * 1024 * 1024,
      idleMs: 30_000,
    });
    expect([...config.publicParts]).toEqual([]);
    expect(config.dataFolder).toMatch(/\.dyeworks$/);
  });

  it.each([
    ['none', []],
    ['deliveries', ['deliveries']],
    ['pictures', ['pictures']],
    ['deliveries,pictures', ['deliveries', 'pictures']],
  ])('DYEWORKS_PUBLIC=%s', (value, parts) => {
    expect([...readConfig({ DYEWORKS_PUBLIC: value }).publicParts].sort()).toEqual(parts);
  });

  it.each([
    { DYEWORKS_PUBLIC: 'everything' },
    { DYEWORKS_PORT: '65536' },
    { DYEWORKS_PORT: 'http' },
    { DYEWORKS_DEMO: 'maybe' },
  ])('refuses %j and names it', (env) => {
    expect(() => readConfig(env)).toThrow(Object.keys(env)[0]);
  });
});
