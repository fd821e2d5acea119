import type { BrowserContext, Page } from 'puppeteer-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openPages } from '../support/open-pages.ts';
import { startService, type TestService } from '../support/start-service.ts';
import { openSheet, pressButton, seeText, selectCell, writeCell } from '../support/work-page.ts';

// The page of picture sets, and the part of a product's page that runs them, in a real browser on the demo line.

const PRODUCT = 'QM-S45';
let service: TestService;
let browser: BrowserContext;
let page: Page;
const faults: string[] = [];

beforeAll(async () => {
  service = await startService({ DYEWORKS_DEMO: 'on' });
  await service.filled;
  ({ browser, page } = await openPages(faults));
});

afterAll(async () => {
  await browser?.close();
  await service?.close();
});

const press = (words: string) => pressButton(page, words);

const see = (text: string) => seeText(page, text, 60_000);

async function write(field: string, text: string): Promise<void> {
  await page.locator(`::-p-xpath(//label[span[normalize-space()="${field}"]]//input)`).fill(text);
}

const getSet = (code: string) => service.call('GET', `/api/picture-sets/${code}`);

describe('the page of picture sets', () => {
  it('shows the built-in sets, and adds another', async () => {
    await page.goto(`${service.url}/picture-sets`);
    await see('210 × 297 mm at 300 ppi, 3 mm bleed');
    await press('Add picture set');
    await write('Code', 'fair');
    await write('Name', 'Fair');
    await write('Side lengths, px', '64');
    await see('Example: CHAIR-1_V01_front_64.jpg');
    await write('Side lengths, px', '16');
    await see('Give a whole number from 32');
    await write('Side lengths, px', '64');
    await press('Save picture set');
    await see('“Fair” is saved.');
    expect((await getSet('fair')).body).toMatchObject({ name: 'Fair', sizes: [64], views: ['front', 'three-quarter'] });
  });

  it('replaces a built-in set, and restores it', async () => {
    await press('Swatches, 1024 px');
    await write('Side lengths, px', '128');
    await press('Replace built-in set');
    await see('replaces the built-in set');
    expect((await getSet('swatches')).body).toMatchObject({ sizes: [128], ready: false });
    await press('Swatches, 1024 px');
    await press('Restore built-in set');
    await see('The built-in set is restored.');
    expect((await getSet('swatches')).body).toMatchObject({ sizes: [1024], ready: true });
  });
});

describe('the product’s page', () => {
  it('shows the number of files of each set, and makes them', async () => {
    const { body } = await service.call('GET', `/api/products/${PRODUCT}/schedule`);
    const kept = { default: body.default, variants: body.variants.slice(0, 1) };
    await service.call('PUT', `/api/products/${PRODUCT}/schedule`, kept);
    await service.call('PUT', '/api/picture-sets/chips', {
      name: 'Chips',
      swatches: ['chip'],
      sizes: [64],
      format: 'png',
    });
    await page.goto(`${service.url}/products/${PRODUCT}/deliver`);
    await see('Chips');
    const finishes = new Set(Object.values(kept.variants[0].choices)).size;
    expect(await readRow('Chips')).toEqual([String(finishes), '0']);
    expect(await readRow('Fair')).toEqual(['2', '0']);
    await press('Make of Chips');
    await see(`All ${finishes} pictures are done.`);
    await see('All made of Chips');
    expect((await readRow('Chips'))[1]).toMatch(new RegExp(`^${finishes}`));
    const zip = await page.$eval('a[download$="_chips.zip"]', (link) => link.getAttribute('href')!);
    const file = await service.call('GET', zip);
    expect(new TextDecoder().decode(file.body.slice(0, 2))).toBe('PK');
  });

  it('says why a set cannot be made for the product', async () => {
    await service.call('PUT', '/api/picture-sets/numbered', {
      name: 'Numbered',
      views: ['front'],
      sizes: [64],
      format: 'png',
      names: '{gtin}',
    });
    await page.reload();
    await see('The file name template uses {gtin}, but variant S45-01 has none.');
  });

  it('writes the number of a variant into its row', async () => {
    await openSheet(page, 'schedule');
    await writeCell(page, 1, 'GTIN', '6291041500214');
    await selectCell(page, 1, 'GTIN');
    await see('The check digit of 6291041500214 should be 3');
    await writeCell(page, 1, 'GTIN', '6291041500213');
    await press('Save schedule');
    await see('Saved, 1 variant.');
    const { body } = await service.call('GET', `/api/products/${PRODUCT}/schedule`);
    expect(body.variants[0].gtin).toBe('06291041500213');
    await openSheet(page, 'deliver');
    // the plan is read again, and the set can be made now
    await page.waitForFunction(() => !document.body.textContent.includes('variant S45-01 has none'));
  });

  it('runs without a fault', () => {
    expect(faults).toEqual([]);
  });
});

/** The number of files of a set, and the number made, from its row. */
async function readRow(name: string): Promise<string[]> {
  await page.waitForFunction(
    (set) => [...document.querySelectorAll('.picture-sets tbody th')].some((th) => th.textContent.trim() === set),
    {},
    name,
  );
  return page.evaluate((set) => {
    const heads = [...document.querySelectorAll('.picture-sets tbody th')];
    const row = heads.find((th) => th.textContent.trim() === set)!.parentElement!;
    return [...row.querySelectorAll('td.figure')].map((cell) => cell.textContent.trim());
  }, name);
}
