import type { BrowserContext, Page } from 'puppeteer-core';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { listCareFaults } from '../support/check-care.ts';
import { readGlb, variantNames } from '../support/glb.ts';
import { addTwoPositions, FINISHES, putLineOfFinishes } from '../support/job.ts';
import { openPages } from '../support/open-pages.ts';
import { startService, type TestService } from '../support/start-service.ts';
import { pressButton, seeText } from '../support/work-page.ts';

// The files of a delivery on the sheet “Deliver”, in a real browser. Model: @webxr-input-profiles/assets 1.0.20 (MIT).

let service: TestService;
let browser: BrowserContext;
let page: Page;
const faults: string[] = [];

beforeAll(async () => {
  service = await startService();
  await putLineOfFinishes(service);
  const [shell, trim] = await addTwoPositions(service);
  const variants = Object.keys(FINISHES).map((finish, row) => ({
    code: `V${row}`,
    name: row === 0 ? '<b>Bold</b> & co' : `Variant ${row}`,
    choices: { [shell]: 'TARN.3', [trim]: finish },
  }));
  const put = await service.call('PUT', '/api/products/TOUCH/schedule', { default: 'V2', variants });
  expect(put.status).toBe(200);
  expect((await service.call('POST', '/api/products/TOUCH/deliveries', {})).status).toBe(201);
  ({ browser, page } = await openPages(faults));
  await page.goto(`${service.url}/products/TOUCH/deliver`);
});

afterAll(async () => {
  await browser?.close();
  await service?.close();
});

const see = (text: string) => seeText(page, text);
/** Addresses of the downloads of a form. */
const linksOf = (form: string) =>
  page.$$eval(`section[aria-label="${form}"] a`, (links) => links.map((link) => link.getAttribute('href')!));
const read = async (path: string) => Buffer.from(await (await fetch(`${service.url}${path}`)).arrayBuffer());

it('opens the list by keyboard: each form with what it loses, and a download that works', async () => {
  await see('Files of delivery 1');
  await page.focus('.fold > summary:has(h3)');
  const summaries = await page.$$('details.fold > summary');
  for (const summary of summaries) {
    if ((await summary.evaluate((one) => one.textContent))?.includes('Files of delivery')) await summary.focus();
  }
  await page.keyboard.press('Enter');
  await see('The choice: the file shows one variant, in every viewer.');
  const [whole] = await linksOf('All variants');
  const [one] = await linksOf('One variant');
  expect(variantNames(readGlb(await read(whole!)))).toHaveLength(5);
  expect(one).toBe('/api/products/TOUCH/deliveries/1/variants/V2.glb');
  expect(variantNames(readGlb(await read(one!)))).toEqual([]);
  await page.select('section[aria-label="One variant"] select', 'V0');
  expect(await linksOf('One variant')).toEqual(['/api/products/TOUCH/deliveries/1/variants/V0.glb']);
});

it('puts ticked variants into one file', async () => {
  expect(await linksOf('Chosen variants')).toEqual([]);
  await see('No variant is chosen yet.');
  const ticks = await page.$$('section[aria-label="Chosen variants"] input[type=checkbox]');
  await ticks[0]!.click();
  await ticks[3]!.focus();
  await page.keyboard.press('Space');
  await see('2 variants are chosen.');
  const [href] = await linksOf('Chosen variants');
  expect(variantNames(readGlb(await read(href!)))).toEqual(['<b>Bold</b> & co', 'Variant 3']);
});

it('splits, lists the files of the split, and says why where nothing divides', async () => {
  await pressButton(page, 'Split');
  await see('In every slot, all variants use finishes of the same article');
  await page.select('section[aria-label="Split files"] select', 'grade');
  await pressButton(page, 'Split');
  await page.waitForSelector('.parts > li');
  const parts = await linksOf('Split files');
  expect(parts).toHaveLength(2);
  for (const part of parts) expect(variantNames(readGlb(await read(part))).length).toBeGreaterThan(1);
});

it('offers a variant and the whole product in USD, and says what a file lost once it is made', async () => {
  const one = 'One variant for a room (AR)';
  expect(await linksOf(one)).toEqual(['/api/products/TOUCH/deliveries/1/variants/V2.usdz']);
  expect(await linksOf('All variants in USD')).toEqual(['/api/products/TOUCH/deliveries/1/product.usdz']);
  await page.select(`section[aria-label="${one}"] select`, 'V1');
  const [href] = await linksOf(one);
  expect(href).toBe('/api/products/TOUCH/deliveries/1/variants/V1.usdz');
  expect((await read(href!)).toString('latin1', 0, 4)).toBe('PK\u0003\u0004');
  const { body } = await service.call('GET', '/api/products/TOUCH/deliveries/1');
  const made = body.files.find(({ form }: { form: string }) => form === 'variants/V1.usdz');
  await page.reload();
  await see('Files of delivery 1');
  for (const summary of await page.$$('details.fold > summary')) {
    if ((await summary.evaluate((open) => open.textContent))?.includes('Files of delivery')) await summary.click();
  }
  await page.waitForSelector(`section[aria-label="${one}"] select`);
  await page.select(`section[aria-label="${one}"] select`, 'V1');
  const text = await page.$eval(`section[aria-label="${one}"]`, (section) => section.textContent ?? '');
  for (const { message } of made.details.losses) expect(text).toContain(message);
});

it('zips what is ticked, and has samples', async () => {
  expect(await linksOf('ZIP file')).toEqual(['/api/products/TOUCH/deliveries/1/bundle.zip?forms=model']);
  const ticks = await page.$$('section[aria-label="ZIP file"] input[type=checkbox]');
  await ticks[1]!.click();
  expect(await linksOf('ZIP file')).toEqual(['/api/products/TOUCH/deliveries/1/bundle.zip?forms=model,variants']);
  const [samples] = await linksOf('Finish samples');
  expect(readGlb(await read(samples!)).json.nodes).toHaveLength(5);
});

it('gives markup for a shop’s page, whose addresses answer, and copies it', async () => {
  for (const summary of await page.$$('details.fold > summary')) {
    if ((await summary.evaluate((one) => one.textContent)) === 'Embed') await summary.click();
  }
  const markupOf = (form: string) =>
    page.$eval(`section[aria-label="${form}"] textarea`, (area) => (area as HTMLTextAreaElement).value);
  await page.waitForSelector('section[aria-label="Viewer"] textarea');
  expect((await markupOf('Viewer')).split('\n')).toHaveLength(3);
  await page.select('.embed select', 'current');
  const wholePage = await markupOf('Example page');
  const addresses = [...wholePage.matchAll(/(?:src|manifest|poster|usdz)="(http[^"]+)"/g)].map(([, found]) => found!);
  expect(addresses.length).toBeGreaterThan(4);
  for (const address of new Set(addresses)) {
    const { status } = await fetch(address.replace('{code}', 'V1'));
    expect([address, status]).toEqual([address, 200]);
  }
  expect(addresses[0]).toContain('/deliveries/current/');
  await pressButton(page, 'Copy viewer');
  await page.waitForFunction(() =>
    /on the clipboard|does not allow it/.test(document.querySelector('section[aria-label="Viewer"]')!.textContent!),
  );
  await page.setViewport({ width: 390, height: 800 });
  expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(390);
  await page.setViewport({ width: 1280, height: 900 });
});

it('keeps the rules of care on every screen, and reports no fault', async () => {
  expect(await listCareFaults(page)).toEqual([]);
  expect(faults).toEqual([]);
});

it('takes a note, and withdraws a delivery for a reason after saying what that does', async () => {
  await page.goto(`${service.url}/products/TOUCH/deliver`);
  await see('Files of delivery 1');
  await pressButton(page, 'Withdraw … of delivery 1');
  await see('Withdrawing delivery 1 cannot be undone.');
  await page.locator('::-p-aria([name="Reason"][role="textbox"])').fill('A wrong scale');
  expect(await listCareFaults(page)).toEqual([]);
  await pressButton(page, 'Withdraw delivery 1');
  await see('A wrong scale');
  expect((await fetch(`${service.url}/api/products/TOUCH/deliveries/1/model.glb`)).status).toBe(410);
  await page.locator('::-p-aria([name="Note"][role="textbox"])').fill('For the spring catalogue');
  await pressButton(page, 'Deliver');
  await see('Files of delivery 2');
  await see('For the spring catalogue');
  expect((await service.call('GET', '/api/products/TOUCH/deliveries/2')).body.note).toBe('For the spring catalogue');
});
