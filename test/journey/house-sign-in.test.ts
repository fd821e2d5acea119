import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { readConfig } from '../../server/config.ts';
import { CLIENT, type Claims, openProvider } from '../support/open-id-provider.ts';
import { addPerson, type SignedIn } from '../support/people.ts';
import { rawRequest } from '../support/raw-request.ts';
import { startService, type TestService } from '../support/start-service.ts';

// OpenID Connect Core 1.0 §3.1 with PKCE (RFC 7636), against a small issuer of its own.

let provider: Awaited<ReturnType<typeof openProvider>>;
let service: TestService;
let owner: SignedIn;

const settings = (more: Record<string, string> = {}) => ({
  DYEWORKS_OIDC_ISSUER: provider.issuer,
  DYEWORKS_OIDC_CLIENT: CLIENT.id,
  DYEWORKS_OIDC_SECRET: CLIENT.secret,
  DYEWORKS_OIDC_NAME: 'Harbour House',
  ...more,
});

beforeAll(async () => {
  provider = await openProvider();
  service = await startService(settings());
  owner = await addPerson(service, { account: 'olga', role: 'owner' });
  const { status } = await owner.call('POST', '/api/people', {
    account: 'anna@house.example',
    name: 'Anna Ek',
    role: 'editor',
  });
  expect(status).toBe(201);
});
afterAll(async () => {
  await service.close();
  provider.close();
});

/** A browser without scripts: it follows redirects by hand, and keeps cookies. */
class Browser {
  readonly cookies = new Map<string, string>();

  /** Not with fetch, which states its own `Sec-Fetch-Mode`. */
  async open(url: string, more: Record<string, string> = {}) {
    const cookie = [...this.cookies].map(([name, value]) => `${name}=${value}`).join('; ');
    const { origin, pathname, search } = new URL(url);
    const headers = { ...(cookie && { cookie }), ...more };
    const answer = await rawRequest(origin, pathname + search, { headers });
    const set = answer.headers['set-cookie'] ?? [];
    for (const each of set) {
      const [, name = '', value = ''] = /^([^=]+)=([^;]*)/.exec(each)!;
      if (value === '') this.cookies.delete(name);
      else this.cookies.set(name, value);
    }
    const { location } = answer.headers;
    return { set: set.join('\n'), location: location === undefined ? '' : new URL(location, url).href };
  }

  /** @returns the address with the answer of the issuer, not opened yet */
  async leave(at: TestService, claims: Claims): Promise<string> {
    provider.claims = claims;
    const away = await this.open(`${at.url}/api/sign-in/house`);
    return (await this.open(away.location)).location;
  }

  /** The browser comes from the site of the issuer. */
  arrive(callback: string) {
    const from = { 'sec-fetch-site': 'cross-site', 'sec-fetch-mode': 'navigate', 'sec-fetch-dest': 'document' };
    return this.open(callback, from);
  }

  async signIn(claims: Claims, at = service): Promise<string> {
    return (await this.arrive(await this.leave(at, claims))).location.slice(at.url.replace(/\/$/, '').length);
  }

  async whoAmI(at = service) {
    const cookie = `dyeworks-session=${this.cookies.get('dyeworks-session') ?? ''}`;
    return (await at.call('GET', '/api/session', undefined, { cookie })).body.caller;
  }
}

const ANNA: Claims = { sub: 'a-1', email: 'anna@house.example', email_verified: true, name: 'Someone Else' };

describe('the sign-in of the house', () => {
  it('is offered by its name', async () => {
    expect((await service.call('GET', '/api/session')).body.ways.house).toBe('Harbour House');
  });

  it('signs in a person whom an owner added, and links them by issuer and subject', async () => {
    const browser = new Browser();
    expect(await browser.signIn(ANNA)).toBe('/');
    expect(await browser.whoAmI()).toMatchObject({ by: 'session', name: 'Anna Ek', role: 'editor' });
    // from then on the subject counts, not the address of mail
    const again = new Browser();
    expect(await again.signIn({ sub: 'a-1' })).toBe('/');
    expect((await again.whoAmI()).name).toBe('Anna Ek');
    const { people } = (await owner.call('GET', '/api/people')).body;
    expect(people.find(({ account }: { account: string }) => account === ANNA.email).hasHouse).toBe(true);
  });

  it('keeps what it waits for in a cookie that comes back from another site, and the session in one that does not', async () => {
    const browser = new Browser();
    provider.claims = ANNA;
    const away = await browser.open(`${service.url}/api/sign-in/house`);
    expect(away.set).toMatch(/HttpOnly; SameSite=Lax/);
    expect(new URL(away.location).searchParams.get('code_challenge_method')).toBe('S256');
    const back = await browser.open(away.location);
    const { set } = await browser.arrive(back.location);
    expect(set).toMatch(/dyeworks-session=[\w-]{43}; Path=\/; HttpOnly; SameSite=Strict/);
  });

  it.each<[string, Claims]>([
    ['another person who has the same address of mail', { ...ANNA, sub: 'a-2' }],
    ['an address that the house has not verified', { sub: 'o-1', email: 'olga', email_verified: false }],
    ['a stranger', { sub: 's-1', email: 'stranger@house.example', email_verified: true }],
    ['an answer with another nonce', { ...ANNA, nonce: 'another' }],
    ['a token for another client', { ...ANNA, audience: 'another' }],
    ['a token signed by another', { ...ANNA, signedByAnother: true }],
  ])('refuses %s', async (_, claims) => {
    const browser = new Browser();
    expect(await browser.signIn(claims)).toBe('/?sign-in=refused');
    expect(await browser.whoAmI()).toBeNull();
  });

  it('refuses an answer that is used again, came to another browser, or has another state', async () => {
    const browser = new Browser();
    const callback = await browser.leave(service, ANNA);
    const other = await new Browser().arrive(callback);
    expect(other.location).toMatch(/\?sign-in=outdated$/);
    expect((await browser.arrive(callback)).location).toBe(`${new URL(service.url).origin}/`);
    expect((await browser.arrive(callback)).location).toMatch(/\?sign-in=outdated$/);
    const changed = new URL(await browser.leave(service, ANNA));
    changed.searchParams.set('state', 'another');
    expect((await browser.arrive(changed.href)).location).toMatch(/\?sign-in=refused$/);
  });

  it('refuses a disabled person', async () => {
    await owner.call('PATCH', '/api/people/anna@house.example', { disabled: true });
    expect(await new Browser().signIn(ANNA)).toBe('/?sign-in=refused');
    await owner.call('PATCH', '/api/people/anna@house.example', { disabled: false });
  });

  it('adds people with the role of the settings, where they have one, and never the first', async () => {
    const open = await startService(settings({ DYEWORKS_OIDC_ROLE: 'viewer' }));
    try {
      await open.call('GET', '/api/session');
      const claims = { sub: 'n-1', email: 'new@house.example', email_verified: true, name: 'New Person' };
      expect(await new Browser().signIn(claims, open)).toBe('/?sign-in=refused');
      await addPerson(open, { account: 'olga', name: 'Olga', role: 'owner' });
      const browser = new Browser();
      expect(await browser.signIn(claims, open)).toBe('/');
      expect(await browser.whoAmI(open)).toMatchObject({ name: 'New Person', role: 'viewer' });
      // a name that someone has already proves nobody
      const second = new Browser();
      await second.signIn({ ...claims, sub: 'n-2', email: 'two@house.example', name: 'Olga' }, open);
      expect((await second.whoAmI(open)).name).toBe('two@house.example');
    } finally {
      await open.close();
    }
  });

  it('says when the house does not answer', async () => {
    const away = await startService(settings({ DYEWORKS_OIDC_ISSUER: 'http://127.0.0.1:9' }));
    try {
      const { location } = await new Browser().open(`${away.url}/api/sign-in/house`);
      expect(location).toMatch(/\?sign-in=unreachable$/);
    } finally {
      await away.close();
    }
  });
});

it.each([
  [{ DYEWORKS_OIDC_ISSUER: 'http://house.example', DYEWORKS_OIDC_CLIENT: 'x' }, 'DYEWORKS_OIDC_ISSUER'],
  [{ DYEWORKS_OIDC_ISSUER: 'house', DYEWORKS_OIDC_CLIENT: 'x' }, 'DYEWORKS_OIDC_ISSUER'],
  [{ DYEWORKS_OIDC_ISSUER: 'https://house.example' }, 'DYEWORKS_OIDC_CLIENT'],
  [
    { DYEWORKS_OIDC_ISSUER: 'https://house.example', DYEWORKS_OIDC_CLIENT: 'x', DYEWORKS_OIDC_ROLE: 'owner' },
    'DYEWORKS_OIDC_ROLE',
  ],
])('refuses the settings %j', (env, name) => {
  expect(() => readConfig(env)).toThrow(name);
});
