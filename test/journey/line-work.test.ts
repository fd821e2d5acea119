import type { BrowserContext, Page } from 'puppeteer-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { addProduct, FINISHES, putLineOfFinishes } from '../support/job.ts';
import { openPages } from '../support/open-pages.ts';
import { readRegistryModel } from '../support/registry-models.ts';
import { startService, type TestService } from '../support/start-service.ts';
import { pressButton, seeText } from '../support/work-page.ts';

// A line is filled on its page: finishes in groups, existing products, and decisions on finishes and variants. Model: registry
// package @webxr-input-profiles/assets 1.0.20 (MIT).

let service: TestService;
let browser: BrowserContext;
let page: Page;
const faults: string[] = [];

beforeAll(async () => {
  service = await startService();
  await putLineOfFinishes(service);
  const [slot] = await addProduct(service, 'STOOL', readRegistryModel('oculus-go/none.glb'));
  const variants = ['COAL_4', 'TARN.3'].map((finish, at) => ({
    code: `V-${at + 1}`,
    name: FINISHES[finish]!.name,
    choices: { [slot!]: finish },
  }));
  await service.call('PUT', '/api/products/STOOL/schedule', { default: 'V-1', variants });
  await service.call('PUT', '/api/lines/new', { name: 'New line' });
  ({ browser, page } = await openPages(faults));
  await page.goto(`${service.url}/lines/new`);
});

afterAll(async () => {
  await browser?.close();
  await service?.close();
});

const see = (text: string) => seeText(page, text);
const press = (words: string) => pressButton(page, words);
const pick = (label: string, value: string) => page.select(`select[aria-label="${label}"]`, value);
const getLine = async (code: string) => (await service.call('GET', `/api/lines/${code}`)).body;

describe('a new line', () => {
  it('says what to do first', async () => {
    await see('The line has no products yet. Find an existing one below');
    await see('The range is empty.');
    await see('No product of the line has variants yet.');
  });

  it('gets all finishes of a family in one go, with their grade', async () => {
    await pick('Add finishes by', 'family');
    await pick('Finishes to add', 'wood');
    await page.locator('::-p-xpath(//label[span="Price grade (optional)"]/input)').fill('B');
    await press('Add 2 finishes');
    await see('Saved.');
    expect((await getLine('new')).range).toEqual([
      { finish: 'OAK-1', status: 'current', grade: 'B' },
      { finish: 'ASH-2', status: 'current', grade: 'B' },
    ]);
    await pick('Add finishes by', 'all');
    await press('Add 3 finishes');
    await see('The range has every finish of the library.');
  });

  it('takes an existing product from another line', async () => {
    await page.locator('input[type="search"]').fill('stool');
    await see('leaves line FEN');
    await press('Add to the line');
    await see('Product STOOL is now in the line.');
    expect(await page.evaluate(() => (document.activeElement as HTMLInputElement).type)).toBe('search');
    await page.waitForSelector('.plate');
    expect((await service.call('GET', '/api/products/STOOL')).body.line).toBe('new');
  });
});

describe('decisions', () => {
  it('on a finish are recorded in the range, and shown there', async () => {
    await page.locator('[id="entry-TARN.3"]').click();
    await page.locator('::-p-xpath(//label[span="Person"]/input)').fill('Ada');
    await pick('Decision', 'approved');
    await press('Record decision');
    await page.waitForFunction(() => document.getElementById('entry-TARN.3')?.textContent?.includes('approved'));
    const { body } = await service.call('GET', '/api/lines/new/approvals');
    expect(body).toEqual({ finishes: [{ finish: 'TARN.3', state: 'approved', round: 1 }] });
    const colour = { hex: '#3f6d83' };
    await service.call('PUT', '/api/finishes/TARN.3', { name: 'Tarn blue', family: 'powder-coat', colour });
    await page.reload();
    await page.waitForFunction(() => document.getElementById('entry-TARN.3')?.textContent?.includes('approval lapsed'));
    expect((await service.call('GET', '/api/lines/none/approvals')).status).toBe(404);
  });

  it('on a variant are recorded on the page of the line', async () => {
    await pick('Product of the variant', 'STOOL');
    await see('0 of 2 variants approved.');
    await pick('Variant', 'V-2');
    await page.locator('::-p-xpath(//label[span="Person"]/input)').fill('Ada');
    await pick('Decision', 'approved');
    await press('Record decision');
    await see('1 of 2 variants approved.');
    const { body } = await service.call('GET', '/api/products/STOOL/variants/V-2/approvals');
    expect(body).toMatchObject({ state: 'approved', round: 1 });
  });
});

it('a finish that is removed gives the focus to the next one', async () => {
  await page.locator('#entry-OAK-1').click();
  await page.locator('button[aria-label="Remove from range: Oiled oak"]').click();
  await page.waitForFunction(() => document.getElementById('entry-OAK-1') === null);
  expect(await page.evaluate(() => document.activeElement?.id)).toBe('entry-ASH-2');
});

it('a position and a rule that are removed give the focus to what takes their place', async () => {
  const { name } = await getLine('new');
  const positions = ['shell', 'trim', 'base'].map((position) => ({ position, label: position }));
  const rules = [
    { when: { position: 'shell' }, sameAs: { position: 'trim' } },
    { when: { position: 'trim' }, sameAs: { position: 'base' } },
  ];
  expect((await service.call('PUT', '/api/lines/new', { name, positions, rules })).status).toBe(200);
  await page.goto(`${service.url}/lines/new`);
  const isFocused = (selector: string) =>
    page.waitForFunction((wanted) => document.activeElement?.matches(wanted), {}, selector);
  await page.locator('#rule-0').click();
  await press('Delete rule');
  await isFocused('#rule-0');
  await page.locator('#rule-0').click();
  await press('Delete rule');
  await see('No rules.');
  await isFocused('.total button');
  await page.locator('button[aria-label="Remove position trim"]').click();
  await isFocused('button[aria-label="Remove position base"]');
  await page.waitForFunction(() => document.querySelectorAll('.positions tbody tr').length === 2);
  await page.locator('button[aria-label="Remove position base"]').click();
  await isFocused('button[aria-label="Remove position shell"]');
  await page.locator('button[aria-label="Remove position shell"]').click();
  await isFocused('input[name="label"]');
});

it('finds a product behind many of the line itself', async () => {
  for (let at = 0; at < 14; at++) {
    await service.call('POST', '/api/products', { code: `PERCH-${at}`, name: `Perch ${at}`, line: 'new' });
  }
  await service.call('POST', '/api/products', { code: 'PERCH-X', name: 'Perch elsewhere' });
  await page.goto(`${service.url}/lines/new`);
  await page.waitForFunction(() => document.querySelectorAll('.plates > li').length >= 14);
  await page.locator('.pulling input').fill('perch');
  await page.waitForSelector('button[aria-label="Add to the line: Perch elsewhere"]');
});

it('no page has a fault', () => {
  expect(faults).toEqual([]);
});
