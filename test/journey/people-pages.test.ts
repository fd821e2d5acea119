import { spawn } from 'node:child_process';
import { once } from 'node:events';
import type { BrowserContext, Page } from 'puppeteer-core';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { ROOT } from '../../server/root.ts';
import { openPages } from '../support/open-pages.ts';
import { startService, type TestService } from '../support/start-service.ts';
import { pressButton, seeText, write } from '../support/work-page.ts';

// From the first owner on the command line to an editor's change, in a real browser.

const OWNER = 'quiet harbour at dawn';
const EDITOR = 'seven boats on the lake';
const OAK = { name: 'Oak', family: 'wood', colour: { hex: '#b08d57' } };

let service: TestService;
let owner: { readonly browser: BrowserContext; readonly page: Page };
let editor: { readonly browser: BrowserContext; readonly page: Page };
const faults: string[] = [];

beforeAll(async () => {
  service = await startService();
  await service.call('PUT', '/api/finishes/OAK', OAK);
  await service.call('POST', '/api/products', { code: 'CHAIR', name: 'Chair' });
  owner = await openPages(faults);
  editor = await openPages(faults);
});
afterAll(async () => {
  await owner?.browser.close();
  await editor?.browser.close();
  await service?.close();
});

async function signIn(page: Page, account: string, passphrase: string): Promise<void> {
  await page.goto(service.url);
  await write(page, 'Sign-in name', account);
  await write(page, 'Passphrase', passphrase);
  await pressButton(page, 'Sign in');
}

/** A call as the page makes it, with its cookie. */
const callFrom = (page: Page, method: string, path: string, body?: object) =>
  page.evaluate(
    async (...[given, address, json]) => {
      const headers = json ? { 'content-type': 'application/json' } : undefined;
      const answer = await fetch(address, { method: given, headers, body: json && JSON.stringify(json) });
      const text = await answer.text();
      return { status: answer.status, body: text === '' ? null : JSON.parse(text) };
    },
    method,
    path,
    body,
  );

let link = '';

it('an owner who was added by command line signs in, and adds an editor', async () => {
  const env = { ...process.env, DYEWORKS_DATA: service.dataFolder };
  const args = ['server/dyeworks.mjs', 'user', 'add', 'olga', '--role', 'owner', '--name', 'Olga Berg'];
  const child = spawn(process.execPath, args, { cwd: ROOT, env });
  child.stdin.end(`${OWNER}\n`);
  expect(await once(child, 'close')).toEqual([0, null]);

  const { page } = owner;
  await signIn(page, 'olga', 'not the right one');
  await seeText(page, 'The name or the passphrase is wrong.');
  await write(page, 'Passphrase', OWNER);
  await pressButton(page, 'Sign in');
  await seeText(page, 'Olga Berg');
  await seeText(page, 'Chair');
  await page.locator('::-p-xpath(//a[normalize-space()="People"])').click();
  await seeText(page, 'These people can sign in.');
  await write(page, 'Name', 'Éd Müller');
  await write(page, 'Sign-in name', 'ed');
  await page.locator('select[aria-label="Role"]').fill('editor');
  await pressButton(page, 'Add person');
  await seeText(page, 'Éd Müller is added.');
  link = await page.$eval('.notice code', (element) => element.textContent ?? '');
  expect(link).toMatch(/\/passphrase#[\w-]{43}$/);
  await seeText(page, 'No passphrase yet');
});

it('the editor chooses a passphrase with the link, signs in, and changes a finish', async () => {
  const { page } = editor;
  await page.goto(link);
  await write(page, 'New passphrase', EDITOR);
  await write(page, 'New passphrase again', `${EDITOR}x`);
  await pressButton(page, 'Save passphrase');
  await seeText(page, 'The two passphrases differ.');
  await write(page, 'New passphrase again', EDITOR);
  await pressButton(page, 'Save passphrase');
  await seeText(page, 'Your passphrase is saved.');
  expect(page.url()).not.toContain('#');

  await signIn(page, 'ed', EDITOR);
  await seeText(page, 'Éd Müller');
  expect(await page.$$eval('a', (links) => links.map(({ pathname }) => pathname))).not.toContain('/people');
  await page.goto(`${service.url}/finishes`);
  await seeText(page, 'Oak');
  await pressButton(page, 'Oak');
  await write(page, 'Name', 'Oak, oiled');
  await pressButton(page, 'Save finish');
  await seeText(page, 'Oak, oiled');
  await page.reload();
  await pressButton(page, 'Oak, oiled');
  await page.waitForFunction(() => document.querySelector('.finish-revisions')?.textContent?.includes('Éd Müller'));
  const { body } = await callFrom(page, 'GET', '/api/finishes/OAK/revisions');
  expect(body.revisions[0]).toMatchObject({ revision: 2, person: 'Éd Müller' });
});

it('the editor cannot delete a product', async () => {
  const refused = await callFrom(editor.page, 'DELETE', '/api/products/CHAIR');
  expect([refused.status, refused.body.code, refused.body.expected]).toEqual([403, 'not-allowed', { role: 'owner' }]);
  expect((await callFrom(owner.page, 'GET', '/api/products/CHAIR')).status).toBe(200);
});

it('the audit shows both', async () => {
  const { page } = owner;
  await page.reload();
  await seeText(page, 'Saved: finishes');
  const rows = await page.$$eval('.audit tbody tr', (found) =>
    found.map((row) => [...row.querySelectorAll('td')].slice(1).map((cell) => cell.textContent)),
  );
  expect(rows).toContainEqual(['Éd Müller', 'Saved: finishes', 'OAK', '127.0.0.1', 'Done']);
  expect(rows).toContainEqual(['Éd Müller', 'Deleted: products', 'CHAIR', '127.0.0.1', 'not-allowed']);
  expect(rows).toContainEqual(['Olga Berg', 'Person added', 'ed, editor', '127.0.0.1', 'Done']);
});

it('the own account makes a token, changes the passphrase, and signs out', async () => {
  const { page } = editor;
  await page.goto(`${service.url}/account`);
  await seeText(page, 'sign-in name ed');
  await write(page, 'Token name', 'Nightly');
  await pressButton(page, 'Make token');
  await seeText(page, 'Copy this token now.');
  const secret = await page.$eval('.notice code', (element) => element.textContent ?? '');
  const headers = { authorization: `Bearer ${secret}` };
  expect((await service.call('GET', '/api/products', undefined, headers)).status).toBe(200);
  await pressButton(page, 'Revoke');
  await seeText(page, 'There are no tokens.');
  expect((await service.call('GET', '/api/products', undefined, headers)).status).toBe(401);

  await write(page, 'Current passphrase', 'not the right one');
  await write(page, 'New passphrase', 'eight boats on the lake');
  await write(page, 'New passphrase again', 'eight boats on the lake');
  await pressButton(page, 'Change passphrase');
  await seeText(page, 'This is not your current passphrase.');
  await write(page, 'Current passphrase', EDITOR);
  await pressButton(page, 'Change passphrase');
  await seeText(page, 'Your passphrase is changed.');
  await Promise.all([page.waitForNavigation(), pressButton(page, 'Sign out')]);
  await seeText(page, 'Sign-in name');
  expect((await callFrom(page, 'GET', '/api/products')).status).toBe(401);
  expect(faults).toEqual([]);
});

it('an owner ends the sessions of a person, and disables them', async () => {
  await signIn(editor.page, 'ed', 'eight boats on the lake');
  await seeText(editor.page, 'Éd Müller');
  const { page } = owner;
  await page.goto(`${service.url}/people`);
  await seeText(page, 'These people can sign in.');
  await pressButton(page, 'Éd Müller');
  await seeText(page, 'Last used');
  await pressButton(page, 'Sign out everywhere');
  await seeText(page, 'Éd Müller is signed out everywhere.');
  expect((await callFrom(editor.page, 'GET', '/api/products')).status).toBe(401);
  await pressButton(page, 'Disable');
  await seeText(page, 'Disabled');
  const answer = await service.call('POST', '/api/sign-in', { account: 'ed', passphrase: 'eight boats on the lake' });
  expect(answer.body.code).toBe('sign-in-refused');
  expect(faults).toEqual([]);
});
