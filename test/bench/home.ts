import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { addManyProducts } from '../support/add-many-products.ts';
import { openPages, openTestBrowser } from '../support/open-pages.ts';
import { startService } from '../support/start-service.ts';

const COUNT = 1000;

/** The home page of a house with a thousand products, in a browser: the first page, and all of them. */
export async function benchHome(): Promise<void> {
  const folder = await mkdtemp(join(tmpdir(), 'dyeworks-many-'));
  await addManyProducts(folder, COUNT);
  const service = await startService({}, folder, { engines: 'own' });
  const { browser, page } = await openPages([]);
  const time = async (what: string, work: () => Promise<unknown>) => {
    const begun = performance.now();
    await work();
    console.log(`${what}: ${Math.round(performance.now() - begun)} ms`);
  };
  const plates = (count: number) =>
    page.waitForFunction((wanted) => document.querySelectorAll('.plate').length >= wanted, { polling: 20 }, count);
  try {
    console.log(`\n${COUNT} products`);
    await time('the first list of 36, each checked', () => service.call('GET', '/api/products?limit=36'));
    await time('the same list again', () => service.call('GET', '/api/products?limit=36'));
    await time('the home page until its 36 products are there', async () => {
      await page.goto(service.url);
      await plates(36);
    });
    await time('a search through all', () => service.call('GET', '/api/products?q=P-0987'));
    await time('“Show more” until all are there', async () => {
      for (let shown = 36; shown < COUNT; shown += 36) {
        await page.locator('::-p-xpath(//button[normalize-space()="Show more products"])').click();
        await plates(Math.min(COUNT, shown + 36));
      }
    });
    const { JSHeapUsedSize = 0, Nodes = 0 } = await page.metrics();
    console.log(`the page then has ${Nodes} nodes and ${Math.round(JSHeapUsedSize / 1024 / 1024)} MiB of objects`);
    await time('the page of a line with half of them', async () => {
      await page.goto(`${service.url}/lines/FEN`);
      await page.waitForFunction(() => document.body.textContent.includes('Product number 999'), {
        polling: 20,
        timeout: 0,
      });
    });
  } finally {
    await browser.close();
    await (await openTestBrowser()).close();
    await service.close();
    await rm(folder, { recursive: true, force: true });
  }
}
