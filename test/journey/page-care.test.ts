import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { BrowserContext, ElementHandle, Page } from 'puppeteer-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { listCareFaults } from '../support/check-care.ts';
import { addTwoPositions, FINISHES, putLineOfFinishes } from '../support/job.ts';
import { openPages } from '../support/open-pages.ts';
import { startService, type TestService } from '../support/start-service.ts';
import { pressButton, seeText } from '../support/work-page.ts';

// Each state of the pages around the bench, for readers with other needs: axe-core, targets, narrow screens, light and dark.

let service: TestService;
let browser: BrowserContext;
let page: Page;
let folder: string;
const faults: string[] = [];

beforeAll(async () => {
  service = await startService();
  folder = await mkdtemp(join(tmpdir(), 'page-care-'));
  await writeFile(join(folder, 'shades.csv'), 'Shade;Ton;L*;a*;b*\nS-1;Heron;62,5;-1;3\n');
  await writeFile(
    join(folder, 'lab.csv'),
    'code,name,family,hex\nS-1,Heron,paint,#8a9a9f\nS-2,Slate,nothing,#404040\n',
  );
  await writeFile(join(folder, 'stool.glb'), 'no model');
  ({ browser, page } = await openPages(faults));
});

afterAll(async () => {
  await browser?.close();
  await service?.close();
  if (folder) await rm(folder, { recursive: true });
});

const see = (text: string) => seeText(page, text);
const press = (words: string) => pressButton(page, words);
const open = (path: string) => page.goto(`${service.url}${path}`);

async function choose(name: string): Promise<void> {
  const field = (await page.waitForSelector('.drop input[type="file"]')) as ElementHandle<HTMLInputElement>;
  await field.uploadFile(join(folder, name));
}

async function fill(): Promise<void> {
  await putLineOfFinishes(service);
  const [shell, trim] = await addTwoPositions(service);
  const codes = Object.keys(FINISHES);
  const variants = ['COAL_4', 'TARN.3'].map((finish, at) => ({
    code: `V-${at + 1}`,
    name: FINISHES[finish]!.name,
    choices: { [shell]: finish, [trim]: codes[at]! },
  }));
  await service.call('PUT', '/api/products/TOUCH/schedule', { default: 'V-1', variants });
  await service.call('POST', '/api/products', { code: 'RTL-1', name: 'كرسي الطعام', line: 'FEN' });
  const long = `${'Extraordinarily'.repeat(6)} long name without a gap`;
  await service.call('POST', '/api/products', { code: `L${'0123456789'.repeat(6)}`, name: long });
  await service.call('PUT', '/api/articles/lacquer', { name: 'Coach lacquer', family: 'powder-coat' });
  const names = { ar: 'أزرق' };
  await service.call('PUT', '/api/finishes/BLUE-9', {
    ...{ name: 'أزرق بحري', names, family: 'powder-coat', article: 'lacquer', colour: { hex: '#1f3d73' } },
  });
}

const STATES: readonly (readonly [name: string, arrange: () => Promise<unknown>])[] = [
  ['the home page without products', () => open('/').then(() => see('There are no products yet.'))],
  ['the finishes without any', () => open('/finishes').then(() => see('There are no finishes yet.'))],
  ['an address without a page', () => open('/nowhere').then(() => see('There is no page at this address.'))],
  [
    'the home page',
    () =>
      fill()
        .then(() => open('/'))
        .then(() => page.waitForSelector('.plate')),
  ],
  [
    'a refused model',
    async () => {
      await choose('stool.glb');
      await press('Add product');
      await page.waitForSelector('.drop [role="alert"]');
    },
  ],
  [
    'a search without results',
    async () => {
      await press('Add line');
      await page.locator('input[type="search"]').fill('nothing of this kind');
      await see('No product matches.');
    },
  ],
  ['the finishes', () => open('/finishes').then(() => page.waitForSelector('.sample'))],
  [
    'an open finish and a comparison',
    async () => {
      for (const name of ['Oiled oak', 'Pale ash']) {
        await page.locator(`::-p-xpath(//label[contains(., "Compare ${name}")]//input)`).click();
      }
      await press('Compare side by side');
      await press('Brushed brass');
      await page.waitForSelector('.finish-form');
      await see('No decision yet.');
    },
  ],
  [
    'a new finish by Lab',
    async () => {
      await press('Add finish');
      await page.select('select[aria-label="Colour given as"]', 'lab');
      await see('paste L*, a*, b*');
      await press('Find pairs');
    },
  ],
  ['the import', () => open('/finishes/import').then(() => see('CSV columns'))],
  ['a preview of an import', () => choose('lab.csv').then(() => see('2 lines of CSV'))],
  ['columns to assign', () => choose('shades.csv').then(() => see('Some headers are not known.'))],
  [
    'a line',
    async () => {
      await open('/lines/FEN');
      await page.waitForSelector('.range-item');
      await page.waitForFunction(() => !document.body.textContent.includes('Counting …'));
    },
  ],
  [
    'a line with everything open',
    async () => {
      await page.locator('#entry-OAK-1').click();
      await see('No decision yet.');
      await press('Add rule');
      await page.select('select[aria-label="Product of the variant"]', 'TOUCH');
      await see('0 of 2 variants approved.');
      await page.select('select[aria-label="Variant"]', 'V-2');
      await page.locator('.pulling input').fill('l0');
      await see('Add to the line');
    },
  ],
];

describe('every state is in order on every screen', () => {
  it.each(STATES)('%s', async (_, arrange) => {
    await arrange();
    expect(await listCareFaults(page)).toEqual([]);
  });
});

it('no page has a fault', () => {
  expect(faults).toEqual([]);
});
