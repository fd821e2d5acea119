import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { BrowserContext, ElementHandle, Page } from 'puppeteer-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { makeNoisePng } from '../support/build-model.ts';
import { openPages } from '../support/open-pages.ts';
import { startService, type TestService } from '../support/start-service.ts';
import { pressButton, seeText } from '../support/work-page.ts';

// A finish edited in a real browser: every value is visible before the user saves, and the form is saved as typed. The
// browser has no WebGL, so the chips show the colours.

let service: TestService;
let browser: BrowserContext;
let page: Page;
let folder: string;
const faults: string[] = [];

beforeAll(async () => {
  service = await startService();
  folder = await mkdtemp(join(tmpdir(), 'finish-pages-'));
  await writeFile(join(folder, 'weave.png'), await makeNoisePng(7, 96));
  const colour = { lab: [38, -8, -15], illuminant: 'D65', observer: '2deg' };
  await put('articles/mesh', { name: 'Mesh', family: 'powder-coat', composition: 'polyester powder' });
  await put('finishes/TRN', { name: 'Tarn', family: 'powder-coat', article: 'mesh', colour });
  await put('finishes/TRN-2', {
    name: 'Tarn again',
    family: 'powder-coat',
    article: 'mesh',
    colour: { ...colour, lab: [38.2, -8, -15] },
  });
  await put('lines/north', {
    name: 'North',
    positions: [],
    range: [{ finish: 'TRN', status: 'current', grade: 'A' }],
    rules: [],
  });
  ({ browser, page } = await openPages(faults));
  await page.goto(`${service.url}/finishes`);
  await press('Tarn');
});

afterAll(async () => {
  await browser?.close();
  await service?.close();
  if (folder) await rm(folder, { recursive: true });
});

async function put(path: string, body: unknown): Promise<void> {
  const answer = await service.call('PUT', `/api/${path}`, body);
  expect(answer.status, JSON.stringify(answer.body)).toBeLessThan(300);
}

const press = (words: string) => pressButton(page, words);

const see = (text: string) => seeText(page, text);

/** Types into the field with this label. */
async function write(name: string, text: string): Promise<void> {
  await page.locator(`::-p-xpath(//label[span="${name}"]/*[self::input or self::textarea])`).fill(text);
}

const getStored = async () => (await service.call('GET', '/api/finishes/TRN')).body;

describe('the form of a finish', () => {
  it('shows the distance from specified to delivered, and the uses', async () => {
    // in its original form: Lab under D65 for 2° needs no conversion
    await see('Lab 38 −8 −15, D65/2°');
    await see('ΔE00 0.0 between specified and delivered, within the tolerance of the family.');
    await see('polyester powder.');
    await see('North: current');
    await see('Stored version.');
  });

  it('updates while typing: gloss as roughness, and the nearest colour for one outside sRGB', async () => {
    await write('Gloss at 60°, GU (ISO 2813)', '40');
    await see('40 GU at 60° gives the surface a roughness of');
    await write('Gloss at 60°, GU (ISO 2813)', '');
    await write('Roughness, 0–1', '0,3');
    await see('The roughness of the surface is 0.3. A meter reads');
    await write('a*', '−90');
    await see('lies outside sRGB');
    await see('that can be shown is #');
    await see('outside the tolerance of the family');
    await write('a*', 'x');
    await see('Enter three numbers for Lab');
    await see('The preview shows the last valid values.');
    expect(await getStored()).toMatchObject({ revision: 1, colour: { lab: [38, -8, -15] } });
  });

  it('uploads a map, lists its findings and draws its repeat', async () => {
    await write('a*', '-9');
    const field = (await page.$(
      'input[aria-label="Image file for the colour map"]',
    )) as ElementHandle<HTMLInputElement>;
    await field.uploadFile(join(folder, 'weave.png'));
    await see('96 × 96 px, PNG');
    await see('older viewers stretch repeating maps');
    await write('Repeat width, mm', '300');
    await write('Repeat height, mm', '200');
    await write('Direction, degrees', '90');
    await see('One repeat, 300 × 200 mm, turned 90°');
    await page.waitForFunction(() => document.querySelector<HTMLImageElement>('.maps img')?.naturalWidth === 96);
  });

  it('is saved as typed', async () => {
    await page.locator('input[aria-label="Language, such as de, row 1"]').fill('de');
    await page.locator('input[aria-label="Name, row 1"]').fill('Bergsee');
    await write('Supplier', 'Wexmill Coatings');
    await write('Tags, separated by commas', 'warm, outdoor');
    await write('Approved screen colour, sRGB', '#2f5d73');
    await see('The approved screen colour differs from the specified colour by ΔE00');
    await press('Save finish');
    await page.waitForSelector('.finish-form', { hidden: true });
    expect(await getStored()).toMatchObject({
      revision: 2,
      colour: { lab: [38, -9, -15], illuminant: 'D65', observer: '2deg' },
      roughness: 0.3,
      tile: { widthMm: 300, heightMm: 200, grainDegrees: 90 },
      maps: { colour: expect.stringMatching(/^[0-9a-f]{64}$/) },
      names: { de: 'Bergsee' },
      supplier: 'Wexmill Coatings',
      tags: ['warm', 'outdoor'],
      display: { hex: '#2f5d73' },
    });
  });

  it('reports that a decision has lapsed, and that it applies again once the change is undone', async () => {
    const [{ finish: _, revision: __, resolved: ___, ...twin }] = [
      (await service.call('GET', '/api/finishes/TRN-2')).body,
    ];
    const decision = { decision: 'approved', person: 'Ada', light: 'D65', shown: 'sample' };
    expect((await service.call('POST', '/api/finishes/TRN-2/approvals', decision)).status).toBe(201);
    await put('finishes/TRN-2', { ...twin, roughness: 0.9 });
    await page.reload();
    await press('Tarn again');
    await see('The decision of round 1 has lapsed. The finish TRN-2 has changed.');
    await put('finishes/TRN-2', { ...twin, note: 'Ask the coater' });
    await page.reload();
    await press('Tarn again');
    await see('Approved, round 1.');
    await page.reload();
  });

  it('closes on Escape without saving', async () => {
    await press('Tarn again');
    await write('Name', 'Never saved');
    await page.keyboard.press('Escape');
    await page.waitForSelector('.finish-form', { hidden: true });
    expect((await service.call('GET', '/api/finishes/TRN-2')).body.name).toBe('Tarn again');
  });

  it('opens from the pairs of near-identical colours', async () => {
    const colour = { lab: [38.4, -8, -15], illuminant: 'D65', observer: '2deg' };
    await put('finishes/TRN-3', { name: 'Twin', family: 'powder-coat', article: 'mesh', colour });
    await page.reload();
    await press('Find pairs');
    await see('Similar finish');
    await page.locator('::-p-xpath(//td/button[normalize-space()="Twin"])').click();
    await page.waitForSelector('.finish-form');
    expect(await page.$eval('.finish-form input', ({ value }) => value)).toBe('Twin');
  });

  it('gives the focus to the next finish when one is deleted', async () => {
    await press('Delete finish');
    await page.waitForFunction(() => document.activeElement?.textContent?.startsWith('Tarn again'));
    expect((await service.call('GET', '/api/finishes/TRN-3')).status).toBe(404);
  });
});

describe('adding finishes', () => {
  const readFields = () =>
    page.$$eval('.adding-finish .finish-form input', (fields) => fields.map(({ value }) => value));
  const readFocus = () =>
    page.evaluate(() => document.activeElement?.closest('label')?.querySelector('span')?.textContent);

  it('takes a pasted Lab triplet in one field', async () => {
    await press('Add finish');
    expect(await readFocus()).toBe('Code');
    await write('Code', 'MOSS');
    await write('Name', 'Moss');
    await page.select('select[aria-label="Family"]', 'textile');
    await page.select('select[aria-label="Colour given as"]', 'lab');
    await page.$eval('.three input', (field) => {
      const clipboardData = new DataTransfer();
      clipboardData.setData('text', 'L=62; a=-6,8; b=15,3');
      field.dispatchEvent(new ClipboardEvent('paste', { clipboardData, bubbles: true, cancelable: true }));
    });
    await see('Lab 62 −6.8 15.3');
    expect(await readFields()).toEqual(expect.arrayContaining(['62', '-6.8', '15.3']));
  });

  it('keeps what was typed when the code is taken', async () => {
    await write('Code', 'trn');
    await press('Save finish');
    await see('The code TRN already belongs to “Tarn”. Choose a different code.');
    expect(await readFields()).toEqual(expect.arrayContaining(['trn', 'Moss', '62', '-6.8', '15.3']));
    await write('Code', 'MOSS');
  });

  it('shows the new finish, and takes the next one of the same kind', async () => {
    await press('Save finish');
    await see('Moss is added.');
    expect(await readFocus()).toBe('Code');
    expect(await page.$eval('select[aria-label="Family"]', ({ value }) => value)).toBe('textile');
    expect(await page.$eval('select[aria-label="Colour given as"]', ({ value }) => value)).toBe('lab');
    await write('Code', 'FERN');
    await write('Name', 'Fern');
    // typed into one field
    await page.focus('.three input');
    await page.keyboard.type('50 -20 30');
    await page.keyboard.press('Tab');
    await press('Save finish');
    await see('Fern is added.');
    await press('Show it in the list');
    await page.waitForSelector('#finish-FERN + .sample-open');
    expect((await service.call('GET', '/api/finishes/FERN')).body).toMatchObject({
      family: 'textile',
      colour: { lab: [50, -20, 30], illuminant: 'D65', observer: '2deg' },
    });
  });

  it('duplicates one, with what the form does not show', async () => {
    await put('finishes/SILK', {
      name: 'Silk',
      family: 'textile',
      colour: { hex: '#808080' },
      sheen: { colour: '#ffffff', roughness: 0.4 },
    });
    await page.reload();
    await press('Silk');
    await press('Duplicate');
    await page.waitForSelector('.adding-finish .finish-form');
    expect(await readFocus()).toBe('Code');
    await write('Code', 'SILK-2');
    await press('Save finish');
    await see('Silk is added.');
    expect((await service.call('GET', '/api/finishes/SILK-2')).body).toMatchObject({
      name: 'Silk',
      sheen: { colour: '#ffffff', roughness: 0.4 },
    });
    await press('Close');
    await page.waitForFunction(() => document.activeElement?.textContent === 'Add finish');
  });

  it('offers the table of metals, with its source', async () => {
    await press('Add finish');
    expect(await page.$('select[aria-label="Compare with bare metal"]')).toBeNull();
    await write('Code', 'BRASS');
    await write('Name', 'Brass');
    await page.select('select[aria-label="Family"]', 'bare-metal');
    await page.select('select[aria-label="Compare with bare metal"]', 'brass');
    await see('Reflectance 0.91 0.78 0.42 (linear red, green, blue; physicallybased.info v2.1).');
    await page.locator('::-p-xpath(//button[starts-with(normalize-space(), "Use its colour")])').click();
    await press('Save finish');
    await see('Brass is added.');
    expect((await service.call('GET', '/api/finishes/BRASS')).body).toMatchObject({ metalName: 'brass', metal: true });
  });

  it('offers a swatch of a stored finish', async () => {
    await page.reload();
    await press('Moss');
    await page.select('select[aria-label="Kind"]', 'panel');
    await page.select('select[aria-label="Size"]', '512');
    const link = await page.$eval('.swatch-download a', (a) => [a.getAttribute('href'), a.getAttribute('download')]);
    expect(link).toEqual(['/api/finishes/MOSS/swatch.png?kind=panel&size=512', 'MOSS-panel-512.png']);
  });
});

describe('comparing finishes', () => {
  it('shows two to four side by side, with the distance between them', async () => {
    await page.reload();
    const tick = (name: string) => page.locator(`::-p-xpath(//label[contains(., "Compare ${name}")]//input)`).click();
    await tick('Moss');
    await see('Moss. Tick another finish to compare it with.');
    await tick('Fern');
    await press('Compare side by side');
    await page.waitForFunction(() => document.activeElement?.textContent === 'Comparison');
    const rows = await page.$$eval('.comparison-table tbody tr', (all) =>
      all.map((row) => [...row.children].map((cell) => cell.textContent)),
    );
    expect(rows[0]).toEqual(['Code', 'MOSS', 'FERN']);
    const [there, back] = rows.filter(([label]) => label!.startsWith('ΔE00 from'));
    expect(there![1]).toBe('–');
    expect(Number(there![2])).toBeGreaterThan(5);
    expect(back![1]).toBe(there![2]);
    await press('End comparison');
    await page.waitForFunction(() => document.activeElement?.textContent?.startsWith('Moss'));
  });

  it('runs without a fault', () => {
    expect(faults).toEqual([]);
  });
});
