import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { BrowserContext, ElementHandle, Page } from 'puppeteer-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openPages } from '../support/open-pages.ts';
import { startService, type TestService } from '../support/start-service.ts';
import { seeText } from '../support/work-page.ts';

// A maker's measurement file is previewed, completed and imported on the import page.

const CGATS = `CGATS.17
ORIGINATOR "Invented lab"
BEGIN_DATA_FORMAT
SAMPLE_ID SAMPLE_NAME LAB_L LAB_A LAB_B
END_DATA_FORMAT
BEGIN_DATA
M-1 "Tarn blue" 38.1 -8.2 -15.4
M-2 Ash 70 0 1
M-3 Slip 138 0 1
END_DATA
`;

let service: TestService;
let browser: BrowserContext;
let page: Page;
let folder: string;
const faults: string[] = [];

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'dyeworks-import-'));
  service = await startService();
  await service.call('PUT', '/api/finishes/M-2', { name: 'Ash', family: 'paint', colour: { hex: '#aaaaaa' } });
  ({ browser, page } = await openPages(faults));
});

afterAll(async () => {
  await browser?.close();
  await service?.close();
  await rm(folder, { recursive: true, force: true });
});

const see = (text: string) => seeText(page, text);

async function choose(name: string, text: string): Promise<void> {
  const path = join(folder, name);
  await writeFile(path, text);
  const field = (await page.waitForSelector('.drop input[type="file"]')) as ElementHandle<HTMLInputElement>;
  await field.uploadFile(path);
}

/** The lines of the table, each as one text. */
const readLines = () =>
  page.$$eval('.import-lines tbody tr', (rows) => rows.map((row) => row.textContent.replace(/\s+/g, ' ').trim()));

describe('the page that imports', () => {
  it('is reached from the finishes, and shows the columns of a CSV', async () => {
    await page.goto(`${service.url}/finishes`);
    await page.locator('a[href="/finishes/import"]').click();
    await see('CSV columns');
    expect(await page.title()).toContain('Import finishes');
    expect(await page.$$eval('.import-columns th', (cells) => cells.map((cell) => cell.textContent))).toContain('code');
  });

  it('previews every line, and again when default values change', async () => {
    await choose('lab.txt', CGATS);
    await see('3 lines of CGATS.17: 3 refused.');
    expect(await page.$('button.main')).toBeNull();
    await page.select('select[aria-label="Illuminant"]', 'D65');
    await page.select('select[aria-label="Observer"]', '10deg');
    await page.select('select[aria-label="Family of new finishes"]', 'paint');
    await see('3 lines of CGATS.17: 1 new, 1 changed, 1 refused.');
    const [first, second, third] = await readLines();
    expect(first).toMatch(/^7M-1 Tarn blue.*New, paint.*estimated from 10°/);
    expect(second).toMatch(/^8M-2 Ash.*colour#aaaaaa → Lab 70 0 1, D65\/10°.*ΔE00 \d/);
    expect(third).toMatch(/^9M-3Refused.*L\* is 138/);
    const chips = await page.$$eval('.import-lines .finish-cell .chip', (all) =>
      all.map((chip) => (chip as HTMLElement).style.backgroundColor),
    );
    expect(chips.map((colour) => colour !== '')).toEqual([true, true, false]);
    expect((await service.call('GET', '/api/finishes')).body.finishes).toHaveLength(1);
  });

  it('filters the lines by outcome', async () => {
    await page.locator('::-p-xpath(//label[contains(., "Refused (1)")])').click();
    await page.waitForFunction(() => document.querySelectorAll('.import-lines tbody tr').length === 1);
    expect(await readLines()).toEqual([expect.stringMatching(/^9M-3Refused/)]);
  });

  it('imports the rest only when the user skips the refused line', async () => {
    expect(await page.$eval('button.main', (button) => (button as HTMLButtonElement).disabled)).toBe(true);
    await page.locator('::-p-xpath(//label[contains(., "Skip 1 refused line")])').click();
    await page.locator('button.main:not([disabled])').click();
    await see('2 finishes imported, 1 line skipped.');
    const { finishes } = (await service.call('GET', '/api/finishes')).body;
    expect(finishes.map(({ finish, revision }: { finish: string; revision: number }) => [finish, revision])).toEqual([
      ['M-2', 2],
      ['M-1', 1],
    ]);
  });

  it('explains why a file cannot be read, and shows no lines', async () => {
    await choose('broken.csv', 'code,name,hex,hex\nA,b,#111111,#111111\n');
    await see('These columns occur twice: “hex”');
    expect(await page.$('.import-lines')).toBeNull();
  });

  it('asks for the columns that it does not know, and remembers them', async () => {
    await page.goto(`${service.url}/finishes/import`);
    const shades = 'Shade;Ton;L*;a*;b*;Price\nS-1;Heron;62,5;-1;3;12\nS-2;Slate;38;0;-2;14\n';
    await choose('shades.csv', shades);
    await see('Some headers are not known. Choose the columns for Code and Name.');
    expect(await page.evaluate(() => document.activeElement?.textContent)).toBe('Columns of the file');
    expect(await page.$$eval('.column-map select', (all) => all.map(({ value }) => value))).toEqual([
      ...['-', '-', 'l', 'a', 'b', '-'],
    ]);
    await page.select('select[aria-label="Column for Shade"]', 'code');
    await see('Choose the column for Name.');
    await page.select('select[aria-label="Column for Ton"]', 'name');
    await page.select('select[aria-label="Illuminant"]', 'D65');
    await page.select('select[aria-label="Observer"]', '2deg');
    await page.select('select[aria-label="Family of new finishes"]', 'paint');
    await see('2 lines of CSV: 2 new.');
    await page.reload();
    await choose('shades.csv', shades);
    await see('Check the column of each header.');
    await page.select('select[aria-label="Illuminant"]', 'D65');
    await page.select('select[aria-label="Observer"]', '2deg');
    await page.select('select[aria-label="Family of new finishes"]', 'paint');
    await page.locator('::-p-xpath(//button[normalize-space()="Import 2 finishes"][not(@disabled)])').click();
    await see('2 finishes imported.');
    expect((await service.call('GET', '/api/finishes/S-1')).body).toMatchObject({
      name: 'Heron',
      colour: { lab: [62.5, -1, 3] },
    });
  });

  it('runs without a fault', () => {
    expect(faults).toEqual([]);
  });
});
