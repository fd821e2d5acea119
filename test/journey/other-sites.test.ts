import { createServer, type Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import type { BrowserContext } from 'puppeteer-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openTestBrowser } from '../support/open-pages.ts';
import { rawRequest } from '../support/raw-request.ts';
import { startService, type TestService } from '../support/start-service.ts';

// W3C, Fetch Metadata Request Headers: a browser says with `Sec-Fetch-Site` whether the page that asks is of the same origin,
// of the same site (another port or another host of the domain), or of another site.

const OTHERS = ['cross-site', 'same-site'] as const;
const FINISH = { name: 'Tarn', family: 'paint', colour: { hex: '#2f5d73' } };
const CHIP = '/api/finishes/TARN/swatch.png?kind=chip';

describe('pages of other sites', () => {
  let service: TestService;
  beforeAll(async () => {
    service = await startService();
    await service.call('PUT', '/api/finishes/TARN', FINISH);
  });
  afterAll(() => service.close());

  it.each(OTHERS)('get nothing by any call of the API: %s', async (site) => {
    const { paths } = (await service.call('GET', '/api/openapi.json')).body;
    const calls = Object.entries<object>(paths).flatMap(([path, methods]) =>
      Object.keys(methods).map((method) => [method.toUpperCase(), path.replace(/\{\w+\}/g, 'X')] as const),
    );
    expect(calls.length).toBeGreaterThan(80);
    for (const [method, path] of calls) {
      for (const mode of ['no-cors', 'cors', 'navigate']) {
        const headers = { 'sec-fetch-site': site, 'sec-fetch-mode': mode };
        const answer = await rawRequest(service.url, path, { method, headers });
        expect([method, path, answer.status]).toEqual([method, path, 403]);
        if (method !== 'HEAD') expect(JSON.parse(answer.body).code).toBe('foreign-site');
      }
    }
  });

  it.each(OTHERS)('may link to our pages, but neither frame them nor load their files: %s', async (site) => {
    const ask = async (path: string, mode: string, dest: string) => {
      const headers = { 'sec-fetch-site': site, 'sec-fetch-mode': mode, 'sec-fetch-dest': dest };
      return (await rawRequest(service.url, path, { headers })).status;
    };
    for (const path of ['/', '/finishes', '/products/X', '/docs']) {
      expect([path, await ask(path, 'navigate', 'document')]).toEqual([path, 200]);
      expect([path, await ask(path, 'navigate', 'iframe')]).toEqual([path, 403]);
      expect([path, await ask(path, 'no-cors', 'script')]).toEqual([path, 403]);
    }
  });

  it.each(['same-origin', 'none'])('other callers are answered: %s', async (site) => {
    expect((await rawRequest(service.url, CHIP, { headers: { 'sec-fetch-site': site } })).status).toBe(200);
  });

  it('read what is public, as guests, even where no token is set', async () => {
    const open = await startService({ DYEWORKS_PUBLIC: 'pictures' });
    try {
      await open.call('PUT', '/api/finishes/TARN', FINISH);
      const headers = { 'sec-fetch-site': 'cross-site', 'sec-fetch-mode': 'no-cors' };
      const ask = (path: string) => rawRequest(open.url, path, { headers });
      expect((await ask(CHIP)).status).toBe(200);
      expect((await ask('/api/products')).status).toBe(403);
      expect((await ask('/api/products/NONE/picture.png?direct=1')).status).toBe(401);
      expect((await open.call('GET', '/api/products/NONE/picture.png?direct=1')).status).toBe(404);
    } finally {
      await open.close();
    }
  });
});

describe('in a browser', () => {
  /** Another one for each host, since a made picture is stored. */
  const picture = (host: string) => `${CHIP}&size=${host === 'localhost' ? 70 : 71}`;
  let service: TestService;
  let elsewhere: Server;
  let browser: BrowserContext;
  beforeAll(async () => {
    service = await startService();
    await service.call('PUT', '/api/finishes/TARN', FINISH);
    elsewhere = createServer(({ headers }, response) =>
      response
        .setHeader('content-type', 'text/html')
        .end(`<img src="${service.url}${picture(headers.host!.split(':')[0]!)}"><a href="${service.url}/">go</a>`),
    );
    await new Promise<void>((resolve) => elsewhere.listen(0, '127.0.0.1', resolve));
    browser = await (await openTestBrowser()).createBrowserContext();
  });
  afterAll(async () => {
    await browser?.close();
    elsewhere?.close();
    await service?.close();
  });

  // every port of one host is the same site; `localhost` and `127.0.0.1` are two sites
  it.each(['127.0.0.1', 'localhost'])(
    'a page on another port of %s shows no picture, but its link opens ours',
    async (host) => {
      const page = await browser.newPage();
      const { port } = elsewhere.address() as AddressInfo;
      await page.goto(`http://${host}:${port}/`, { waitUntil: 'load' });
      expect(await page.evaluate('document.images[0].naturalWidth')).toBe(0);
      await Promise.all([page.waitForNavigation({ waitUntil: 'load' }), page.click('a')]);
      expect(page.url()).toBe(`${service.url}/`);
      // our own page gets the same picture, which was not made before
      const address = service.url + picture(host);
      const ask = `fetch(${JSON.stringify(address)}).then(({ status, headers }) => [status, headers.get('picture-source')])`;
      expect(await page.evaluate(ask)).toEqual([200, 'rendered']);
      await page.close();
    },
  );
});
