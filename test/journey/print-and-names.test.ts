import type { BrowserContext, Page } from 'puppeteer-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { addProduct, FINISHES, putLineOfFinishes } from '../support/job.ts';
import { openPages } from '../support/open-pages.ts';
import { readRegistryModel } from '../support/registry-models.ts';
import { startService, type TestService } from '../support/start-service.ts';

// Sheets as they print, and names that read from right to left beside those that do not.

/** “Chair 4” and “Table 5”. */
const [CHAIR, TABLE] = ['כיסא 4', 'שולחן 5'];
let service: TestService;
let browser: BrowserContext;
let page: Page;
const faults: string[] = [];

beforeAll(async () => {
  service = await startService();
  await putLineOfFinishes(service);
  const positions = [{ position: 'shell', label: 'מושב' }];
  const range = Object.keys(FINISHES).map((finish) => ({ finish }));
  await service.call('PUT', '/api/lines/FEN', { name: 'Fen', positions, range });
  for (const [code, name] of [
    ['1001', CHAIR],
    ['1002', TABLE],
  ]) {
    const [slot] = await addProduct(service, code!, readRegistryModel('oculus-go/none.glb'));
    await service.call('PATCH', `/api/products/${code}`, { name });
    await service.call('PATCH', `/api/products/${code}/slots/${slot}`, { position: 'shell' });
    const variants = [{ code: '77', name: CHAIR, choices: { [slot!]: 'COAL_4' } }];
    await service.call('PUT', `/api/products/${code}/schedule`, { default: '77', variants });
  }
  ({ browser, page } = await openPages(faults));
});

afterAll(async () => {
  await browser?.close();
  await service?.close();
});

/** The left edges of these words in the first element of a selector whose text has them all, px of the window. */
const readEdges = async (selector: string, words: readonly string[]) => {
  const found = await page.waitForFunction(
    (within: string, wanted: readonly string[]) => {
      const holder = [...document.querySelectorAll(within)].find((each) =>
        wanted.every((word) => each.textContent.includes(word)),
      );
      if (!holder) return null;
      return wanted.map((word) => {
        const walker = document.createTreeWalker(holder, NodeFilter.SHOW_TEXT);
        for (let node = walker.nextNode(); node; node = walker.nextNode()) {
          const at = node.textContent!.indexOf(word);
          if (at < 0) continue;
          const range = document.createRange();
          range.setStart(node, at);
          range.setEnd(node, at + word.length);
          return range.getBoundingClientRect().left;
        }
        return Number.NaN;
      });
    },
    {},
    selector,
    words,
  );
  return (await found.jsonValue()) as number[];
};

describe('names from right to left', () => {
  it('stand in the order of a list', async () => {
    await page.goto(`${service.url}/lines/FEN`);
    const [first, second] = await readEdges('.positions td', [CHAIR!, TABLE!]);
    expect(first).toBeLessThan(second!);
  });

  it('stand before the code that follows them, though it is a number', async () => {
    const [name, code] = await readEdges('.effects th', [CHAIR!, '1001']);
    expect(name).toBeLessThan(code!);
    await page.goto(`${service.url}/products/1001/schedule`);
    const [variant, its] = await readEdges('.view-name', [CHAIR!, '77']);
    expect(variant).toBeLessThan(its!);
  });
});

describe('a printed sheet', () => {
  const listHeadings = () =>
    page.$$eval('h2', (headings) =>
      headings.filter((heading) => heading.checkVisibility()).map((heading) => heading.textContent),
    );

  it('leaves out what only has a button', async () => {
    await page.goto(`${service.url}/finishes`);
    await page.waitForSelector('.alike');
    expect(await listHeadings()).toContain('Near-identical colours');
    await page.emulateMediaType('print');
    expect(await listHeadings()).not.toContain('Near-identical colours');
    await page.goto(`${service.url}/picture-sets`);
    await page.waitForSelector('.picture-sets');
    expect(await page.$eval('main > section > .total', (place) => place.checkVisibility())).toBe(false);
    await page.emulateMediaType('screen');
  });

  it('of a product has its picture at less than half a page, and what is on the sheet', async () => {
    await page.goto(`${service.url}/products/1001/schedule`);
    await page.waitForSelector('.grid [role="gridcell"]');
    await page.emulateMediaType('print');
    await page.waitForSelector('.print-only tbody tr');
    const { height } = (await (await page.$('.stage'))!.boundingBox())!;
    // CSS px of 1/96 inch; a page of A4 is 297 mm high
    expect((height / 96) * 25.4).toBeLessThan(100);
    expect(await listHeadings()).toContain('Schedule');
    await page.emulateMediaType('screen');
  });

  it('meets no fault', () => {
    expect(faults).toEqual([]);
  });
});
