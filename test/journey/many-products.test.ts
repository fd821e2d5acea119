import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { addManyProducts } from '../support/add-many-products.ts';
import { openPages } from '../support/open-pages.ts';
import { startService, type TestService } from '../support/start-service.ts';
import { pressButton, seeText, write } from '../support/work-page.ts';

// A house with a thousand products, in a real browser. Model: @webxr-input-profiles/assets 1.0.20 (MIT).

const COUNT = 1000;

let folder: string;
let service: TestService;
let opened: Awaited<ReturnType<typeof openPages>>;
const faults: string[] = [];
const requests: string[] = [];
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'dyeworks-many-'));
  await addManyProducts(folder, COUNT);
  service = await startService({}, folder);
  opened = await openPages(faults);
  opened.page.on('request', (request) => requests.push(request.url().slice(service.url.length)));
});
afterAll(async () => {
  await opened?.browser.close();
  await service?.close();
  await rm(folder, { recursive: true, force: true });
});

const countPlates = () => opened.page.$$eval('.plate', (found) => found.length);
const waitForPlates = (count: number) =>
  opened.page.waitForFunction((wanted) => document.querySelectorAll('.plate').length === wanted, {}, count);

it('the home page shows a page of them, and asks for the pictures that are in sight', async () => {
  const { page } = opened;
  await page.goto(service.url);
  await seeText(page, 'P-0036');
  expect(await countPlates()).toBe(36);
  // the observer of each picture has reported once the page rests
  await page.waitForNetworkIdle({ idleTime: 500 });
  const lists = requests.filter((url) => url.includes('api/products?'));
  expect(lists.every((url) => url.includes('limit=36'))).toBe(true);
  const pictures = requests.filter((url) => /pictures?[./]/.test(url));
  expect(pictures.length).toBeGreaterThan(0);
  expect(pictures.length).toBeLessThan(20);

  await pressButton(page, 'Show more products');
  await waitForPlates(72);
  await page.waitForNetworkIdle({ idleTime: 500 });
  expect(requests.filter((url) => /pictures?[./]/.test(url)).length).toBeLessThan(20);
});

it('the search finds one among all', async () => {
  const { page } = opened;
  await write(page, 'Search by code or name', 'P-0987');
  await waitForPlates(1);
  await seeText(page, 'Product number 987');
  expect(faults).toEqual([]);
});

it('the page of a line asks for its own products alone', async () => {
  const { page } = opened;
  requests.length = 0;
  await page.goto(`${service.url}/lines/FEN`);
  // the first list of each product checks it
  await seeText(page, 'Product number 999', 150_000);
  const lists = requests.filter((url) => url.includes('api/products?'));
  expect(lists.length).toBeGreaterThan(0);
  expect(lists.every((url) => url.includes('line=FEN'))).toBe(true);
  expect(faults).toEqual([]);
});
