import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { BrowserContext, ElementHandle, Page } from 'puppeteer-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { readGlb } from '../support/glb.ts';
import { openPages } from '../support/open-pages.ts';
import { readRegistryModel } from '../support/registry-models.ts';
import { startService, type TestService } from '../support/start-service.ts';
import { pressButton, seeText } from '../support/work-page.ts';

// The home page in a real browser: a model in parts is dropped, and products are searched and filtered. Model: registry package
// @webxr-input-profiles/assets 1.0.20 (MIT), taken apart into a .gltf with its binary.

let service: TestService;
let browser: BrowserContext;
let page: Page;
let folder: string;
const faults: string[] = [];
const { json, bin } = readGlb(readRegistryModel('oculus-go/none.glb'));
const gltf = JSON.stringify({
  ...json,
  buffers: [{ ...json.buffers![0], uri: 'data/seat%20shell.bin' }],
});

beforeAll(async () => {
  service = await startService();
  folder = await mkdtemp(join(tmpdir(), 'home-page-'));
  await writeFile(join(folder, 'Bar_Stool.gltf'), gltf);
  await writeFile(join(folder, 'seat shell.bin'), bin!);
  await writeFile(join(folder, 'notes.txt'), 'no model');
  await writeFile(join(folder, 'broken.glb'), 'no model either');
  ({ browser, page } = await openPages(faults));
  await page.goto(service.url);
});

afterAll(async () => {
  await browser?.close();
  await service?.close();
  if (folder) await rm(folder, { recursive: true });
});

const see = (text: string) => seeText(page, text);
const press = (words: string) => pressButton(page, words);
const readFocus = () => page.evaluate(() => document.activeElement?.textContent?.trim());
const seeFocus = (text: string) =>
  page.waitForFunction((wanted) => document.activeElement?.textContent?.includes(wanted), { timeout: 30_000 }, text);
/** Waits until the number of products is this text. */
const seeCount = (text: string) =>
  page.waitForFunction(
    (wanted) => [...document.querySelectorAll('[role="status"]')].some((each) => each.textContent === wanted),
    { timeout: 30_000 },
    text,
  );
const readNames = () => page.$$eval('.plate .name', (names) => names.map((name) => name.textContent));

async function choose(...names: string[]): Promise<void> {
  const field = (await page.waitForSelector('.drop input[type="file"]')) as ElementHandle<HTMLInputElement>;
  await field.uploadFile(...names.map((name) => join(folder, name)));
}

/** Drops files with these names and texts, as a file manager does. */
async function drop(files: readonly (readonly [name: string, text: string])[]): Promise<void> {
  await page.evaluate((given) => {
    const data = new DataTransfer();
    for (const [name, text] of given) data.items.add(new File([text], name));
    document.dispatchEvent(new DragEvent('drop', { dataTransfer: data, bubbles: true, cancelable: true }));
  }, files);
}

describe('a new user', () => {
  it('reads what this is, and what to do first', async () => {
    await see('Dyeworks turns the 3D model of a product into one file');
    await see('There are no products yet. Drop a model above to add the first one.');
    await see('There are no lines yet.');
    const order = await page.$$eval('main .drop, main h2', (all) =>
      all.map((each) => each.className || each.textContent),
    );
    expect(order[0]).toBe('drop');
  });

  it('is told why a drop is no model, in the place of the drop, with the focus there', async () => {
    await choose('Bar_Stool.gltf');
    await seeFocus('“Bar_Stool.gltf” also needs data/seat shell.bin. Drop this file together with it');
    await choose('notes.txt');
    await seeFocus('“notes.txt” is not a .glb, .gltf or .zip file');
    await drop([
      ['a.glb', ''],
      ['b.glb', ''],
    ]);
    await seeFocus('More than one model was dropped: a.glb, b.glb. Drop one at a time.');
  });

  it('keeps what was typed when the service refuses the file', async () => {
    await choose('broken.glb');
    await seeFocus('New product from broken.glb');
    await page.locator('.adding input').fill('STOOL-1');
    await press('Add product');
    await page.waitForSelector('.drop [role="alert"]');
    expect(await page.$eval('.adding input', (field) => field.value)).toBe('STOOL-1');
    expect(await page.evaluate(() => document.activeElement?.getAttribute('role'))).toBe('alert');
    await press('Cancel');
    expect(await readFocus()).toBe('Choose a file');
  });

  it('adds a .gltf that is dropped together with its files, and sees the result there', async () => {
    await choose('Bar_Stool.gltf', 'seat shell.bin', 'notes.txt');
    await seeFocus('New product from Bar_Stool.zip');
    await press('Add product');
    await seeFocus('Open Bar stool');
    await see('Bar stool is added');
    await page.waitForSelector('.plate');
    expect(await readNames()).toEqual(['Bar stool']);
    const { body } = await service.call('GET', '/api/products/Bar_Stool');
    expect(body).toMatchObject({ class: 'bar-stool', model: { revision: 1 } });
    await page.keyboard.press('Enter');
    await page.waitForFunction(() => location.pathname.startsWith('/products/Bar_Stool'));
  });
});

describe('many products', () => {
  beforeAll(async () => {
    await service.call('PUT', '/api/lines/fen', { name: 'Fenwater' });
    for (let number = 1; number <= 40; number++) {
      const line = number <= 2 ? 'fen' : undefined;
      await service.call('POST', '/api/products', {
        code: `P-${number}`,
        name: `Part ${number}`,
        ...(line && { line }),
      });
    }
    await service.call('POST', '/api/products', { code: 'P-41', name: 'كرسي Part 41' });
    await page.goto(service.url);
    await page.waitForSelector('.plate');
  });

  it('are shown page by page', async () => {
    expect(await readNames()).toHaveLength(36);
    await press('Show more products');
    await see('Part 41');
    expect(await readNames()).toHaveLength(42);
  });

  it('are searched and filtered, and the address keeps that', async () => {
    await page.locator('input[type="search"]').fill('part 4');
    await seeCount('6 products.');
    expect(await readNames()).toEqual(['Part 4', 'Part 14', 'Part 24', 'Part 34', 'Part 40', 'كرسي Part 41']);
    expect(await page.evaluate(() => location.search)).toBe('?q=part+4');
    await page.$eval('input[type="search"]', (field) => field.select());
    await page.keyboard.press('Backspace');
    await page.select('select[aria-label="Line"]', 'fen');
    await seeCount('2 products.');
    await page.locator('::-p-xpath(//label[contains(., "Needs attention")]//input)').click();
    await seeCount('2 products.');
    await page.reload();
    await seeCount('2 products.');
    expect(await readNames()).toEqual(['Part 1', 'Part 2']);
    await page.locator('::-p-xpath(//label[contains(., "Delivery out of date")]//input)').click();
    await see('No product matches.');
    await press('Show all products');
    await page.waitForFunction(() => document.querySelectorAll('.plate').length > 30);
    expect(await page.evaluate(() => location.search)).toBe('');
  });

  it('come back as they were left', async () => {
    await page.select('select[aria-label="Line"]', '');
    await page.waitForFunction(() => location.search === '?line=');
    await page.locator('.plate a').click();
    await page.waitForFunction(() => location.pathname.startsWith('/products/'));
    await page.goBack();
    await seeCount('The first 36 products.');
    expect(await page.$eval('select[aria-label="Line"]', (field) => field.value)).toBe('');
  });
});

it('an address without a page leads on', async () => {
  const answer = await page.goto(`${service.url}/nowhere/at-all?q=1`);
  expect(answer?.status()).toBe(404);
  await see('There is no page at this address.');
  await page.locator('main a[href="/"]').click();
  await page.waitForSelector('.drop');
});

it('a program still gets a problem for it', async () => {
  for (const path of ['/nowhere', '/api/nowhere']) {
    expect(await service.call('GET', path)).toMatchObject({ status: 404, body: { code: 'not-found' } });
  }
});

it('no page has a fault', () => {
  expect(faults).toEqual([]);
});
