import type { Page } from 'puppeteer-core';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { CLIENT, openProvider } from '../support/open-id-provider.ts';
import { openPages } from '../support/open-pages.ts';
import { startService, type TestService } from '../support/start-service.ts';
import { pressButton, seeText, write } from '../support/work-page.ts';

// From a machine without sign-in to a house whose people sign in, all in a real browser.

const PASSPHRASE = 'quiet harbour at dawn';

let provider: Awaited<ReturnType<typeof openProvider>>;
let service: TestService;
/** The provider is on 127.0.0.1, so for the browser it is another site. */
let url: string;
const pages: Awaited<ReturnType<typeof openPages>>[] = [];
const faults: string[] = [];

beforeAll(async () => {
  provider = await openProvider();
  service = await startService({
    DYEWORKS_OIDC_ISSUER: provider.issuer,
    DYEWORKS_OIDC_CLIENT: CLIENT.id,
    DYEWORKS_OIDC_SECRET: CLIENT.secret,
    DYEWORKS_OIDC_NAME: 'Harbour House',
  });
  url = service.url.replace('127.0.0.1', 'localhost').replace(/\/$/, '');
  await service.call('POST', '/api/products', { code: 'CHAIR', name: 'Chair' });
  for (let at = 0; at < 3; at++) pages.push(await openPages(faults));
});
afterAll(async () => {
  for (const { browser } of pages) await browser.close();
  await service?.close();
  provider?.close();
});

/** The link to choose a passphrase that the page shows once. */
const readLink = (page: Page) => page.$eval('.notice code', (element) => element.textContent ?? '');

async function signIn(page: Page): Promise<void> {
  await page.goto(url);
  await write(page, 'Sign-in name', 'olga');
  await write(page, 'Passphrase', PASSPHRASE);
  await pressButton(page, 'Sign in');
  await seeText(page, 'Olga Berg');
}

it('the first owner is added on the page, chooses a passphrase, and signs in', async () => {
  const { page } = pages[0]!;
  await page.goto(`${url}/people`);
  await seeText(page, 'The first person must be an owner');
  await write(page, 'Name', 'Olga Berg');
  await write(page, 'Sign-in name', 'olga');
  await pressButton(page, 'Add person');
  await seeText(page, 'Olga Berg is added.');
  // from now on this page, too, needs a sign-in, and the link stays in sight
  await seeText(page, 'Sign in');
  const link = await readLink(page);
  await page.goto(link);
  await seeText(page, 'Use 15 characters or more.');
  await write(page, 'New passphrase', PASSPHRASE);
  await write(page, 'New passphrase again', PASSPHRASE);
  await pressButton(page, 'Save passphrase');
  await seeText(page, 'Your passphrase is saved.');
  await signIn(page);
  await seeText(page, 'Chair');
});

it('a person of the house signs in with the button, and a stranger learns why not', async () => {
  const owner = pages[0]!.page;
  await owner.goto(`${url}/people`);
  await seeText(owner, 'These people can sign in.');
  await write(owner, 'Name', 'Anna Ek');
  await write(owner, 'Sign-in name', 'anna@house.example');
  await pressButton(owner, 'Add person');
  await seeText(owner, 'Anna Ek is added.');

  const { page } = pages[1]!;
  const press = () => page.locator('::-p-xpath(//a[normalize-space()="Sign in with Harbour House"])').click();
  await page.goto(url);
  provider.claims = { sub: 's-1', email: 'stranger@house.example', email_verified: true };
  await press();
  await seeText(page, 'does not name a person who can sign in here');
  provider.claims = { sub: 'a-1', email: 'anna@house.example', email_verified: true };
  await press();
  await seeText(page, 'Anna Ek');
  await seeText(page, 'Chair');
  expect(new URL(page.url()).search).toBe('');
});

it('signing out everywhere ends the other session of the person too, and nobody else’s', async () => {
  const [here, anna, there] = pages.map(({ page }) => page) as [Page, Page, Page];
  await signIn(there);
  await here.goto(`${url}/account`);
  await seeText(here, 'this session');
  await Promise.all([here.waitForNavigation(), pressButton(here, 'Sign out everywhere')]);
  await seeText(here, 'Sign-in name');
  await there.reload();
  await seeText(there, 'Sign-in name');
  await anna.reload();
  await seeText(anna, 'Chair');
  expect(faults).toEqual([]);
});
