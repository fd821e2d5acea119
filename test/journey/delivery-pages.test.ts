import type { BrowserContext, Page } from 'puppeteer-core';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { listAxeViolations } from '../support/check-axe.ts';
import { addTwoPositions, FINISHES, putLineOfFinishes } from '../support/job.ts';
import { openPages } from '../support/open-pages.ts';
import { startService, type TestService } from '../support/start-service.ts';
import { pressButton, seeText } from '../support/work-page.ts';

// The sheet “Deliver” in a real browser: it says what differs since the last delivery before it delivers. Model:
// @webxr-input-profiles/assets 1.0.20 (MIT).

let service: TestService;
let browser: BrowserContext;
let page: Page;
let slots: readonly [string, string];
const faults: string[] = [];

beforeAll(async () => {
  service = await startService();
  await putLineOfFinishes(service);
  slots = await addTwoPositions(service);
  await putRows(['A', 'B']);
  ({ browser, page } = await openPages(faults));
});

afterAll(async () => {
  await browser?.close();
  await service?.close();
});

const see = (text: string) => seeText(page, text);
const press = (words: string) => pressButton(page, words);
const open = () => page.goto(`${service.url}/products/TOUCH/deliver`);
const readChanges = () => page.$$eval('.changes > li', (rows) => rows.map((row) => row.textContent));
const seeBar = (text: string) =>
  page.waitForFunction(
    (wanted) => document.querySelector('.bench-sheets a[href$="/deliver"] small')?.textContent === wanted,
    { timeout: 30_000 },
    text,
  );

async function putRows(codes: readonly string[], first = 'Variant A'): Promise<void> {
  const variants = codes.map((code) => ({
    code,
    name: code === 'A' ? first : `Variant ${code}`,
    choices: { [slots[0]]: 'TARN.3', [slots[1]]: 'OAK-1' },
  }));
  const answer = await service.call('PUT', '/api/products/TOUCH/schedule', { default: 'A', variants });
  expect(answer.status).toBe(200);
}

it('delivers after saying that a delivery stays for good, and what is up to date', async () => {
  await open();
  await see('No deliveries yet.');
  await see('A delivery keeps its number and its files for good. This cannot be undone.');
  await press('Deliver');
  await see('Delivery 1 is ready');
  await see('Nothing differs. Delivery 1 is up to date.');
  await seeBar('delivery 1, up to date');
});

it('says which delivery stands when nothing has changed', async () => {
  await press('Deliver');
  await see('Nothing has changed since delivery 1. Dyeworks made no new one.');
  expect(await page.$$('.deliveries tbody tr')).toHaveLength(1);
});

it('shows what the delivery weighs, and makes a compressed file with its loss in words', async () => {
  await page.click('details.weight > summary');
  await see('Weight by finish');
  const rows = await page.$$eval('details.weight tbody tr', (all) => all.map(({ textContent }) => textContent));
  expect(rows[0]).toMatch(/^Geometry.*%$/);
  await page.select('details.weight select[aria-label="Geometry"]', 'meshopt');
  await see('Viewers need the decoder of meshopt.');
  await press('Make file');
  await see('The file is in the list.');
  await see('positions move by up to');
  expect(await page.$eval('details.weight a.button', (link) => link.getAttribute('href'))).toMatch(
    /forms\/meshopt\.glb$/,
  );
  expect(await listAxeViolations(page)).toEqual([]);
});

it('tells the changes in sentences, those that break a shop first, long lists folded', async () => {
  const { name, family } = FINISHES['OAK-1']!;
  await service.call('PUT', '/api/finishes/OAK-1', { name, family, colour: { hex: '#9c7a4e' } });
  await putRows(['A', 'C', 'D', 'E', 'F'], 'First');
  await open();
  await see('Changes since delivery 1');
  // B is withdrawn, four are new, and A has another name and another colour
  await see('Out of date: 6 variants differ.');
  await seeBar('delivery 1, out of date: 6 variants differ');
  expect(await listAxeViolations(page, '.bench-sheet')).toEqual([]);
  const changes = await readChanges();
  expect(changes).toHaveLength(4);
  expect(changes[0]).toBe('Shops must adapt: “Variant B” (B) is withdrawn.');
  expect(changes[1]).toMatch(/^Shops must adapt: “Variant A” \(A\) is now named “First”\./);
  expect(changes[2]).toMatch(/^4 variants are new“Variant C” \(C\) is new\./);
  expect(changes[3]).toMatch(/^“Oiled oak” has another colour in 5 variants: ΔE00 \d\.\d\d from the earlier one\.$/);
});

it('is out of date on the home page and on the page of its line', async () => {
  for (const path of ['/', '/lines/FEN']) {
    await page.goto(service.url + path);
    await see('1 delivery, out of date');
  }
});

it('counts other names in the file as a change before it is delivered', async () => {
  await open();
  await see('Changes since delivery 1');
  await page.select('.total select', 'code');
  await see('The file names its variants by code now.');
  await press('Deliver');
  await see('Delivery 2 is ready');
  await seeBar('delivery 2, up to date');
  // the next one names them as this one
  await open();
  await see('Nothing differs. Delivery 2 is up to date.');
  expect(await page.$eval('.total select', (select) => (select as HTMLSelectElement).value)).toBe('code');
  await press('Deliver');
  await see('Nothing has changed since delivery 2. Dyeworks made no new one.');
});

it('follows a change on the page', async () => {
  await service.call('PATCH', `/api/products/TOUCH/slots/${slots[0]}`, { grainDegrees: 45 });
  await open();
  await see('the direction is 45°; it was 0°');
});

it('runs without a fault', () => {
  expect(faults).toEqual([]);
});
