import type { BrowserContext, Page } from 'puppeteer-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openPages } from '../support/open-pages.ts';
import { startService, type TestService } from '../support/start-service.ts';
import { openSheet, pressButton, seeText, selectCell, writeCell } from '../support/work-page.ts';

// The pages in a real browser, on the demo line: the first minutes of a new user. Pictures are refused and WebGL is
// switched off: this test needs neither, and both take machine time.

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

const see = (text: string) => seeText(page, text);

async function pressWithControl(key: 'z' | 'y'): Promise<void> {
  await page.keyboard.down('Control');
  await page.keyboard.press(key);
  await page.keyboard.up('Control');
}

const getSchedule = async () => (await service.call('GET', `/api/products/${PRODUCT}/schedule`)).body;

describe('the pages', () => {
  it('show the lines and lead to a product', async () => {
    await page.goto(service.url);
    await see('Tarrowick stool');
    await page.locator(`a[href="/products/${PRODUCT}"]`).click();
    await see('368 × 368 × 450 mm');
    expect(await page.title()).toContain('Tarrowick stool');
  });

  it('change a finish by the keyboard, and save it', async () => {
    const before = await getSchedule();
    await openSheet(page, 'schedule');
    await selectCell(page, 2, 'Seat');
    await page.keyboard.press('Enter');
    await page.waitForSelector('.offers [aria-selected="true"]');
    await page.keyboard.press('ArrowDown');
    await page.keyboard.press('Enter');
    await see('Not saved: 1 row changed.');
    expect(await page.evaluate(() => document.activeElement?.role)).toBe('gridcell');
    await press('Save schedule');
    await see('Saved, 9 variants.');
    const after = await getSchedule();
    expect(after.variants[1].choices).not.toEqual(before.variants[1].choices);
    expect(after.variants[0]).toEqual(before.variants[0]);
  });

  it('lose nothing when somebody else has saved in the meantime', async () => {
    const { findings: _, ...other } = await getSchedule();
    const renamed = other.variants.map((variant: { name: string }, at: number) =>
      at === 0 ? { ...variant, name: 'Renamed elsewhere' } : variant,
    );
    await service.call('PUT', `/api/products/${PRODUCT}/schedule`, { ...other, variants: renamed });
    await writeCell(page, 3, 'Name', 'Named here');
    await press('Save schedule');
    await see('Saved, 9 variants. Someone else saved this schedule in the meantime.');
    const { variants } = await getSchedule();
    expect([variants[0].name, variants[2].name]).toEqual(['Renamed elsewhere', 'Named here']);
  });

  it('keep edits while the user is on another page', async () => {
    await writeCell(page, 4, 'Name', 'Not saved yet');
    await see('Not saved: 1 row changed.');
    await page.locator('.head a.house').click();
    await page.waitForSelector('.drop');
    await page.goBack();
    await see('Your edits of an earlier visit are back. Not saved: 1 row changed.');
    await press('Discard changes');
    await see('All changes are saved.');
  });

  it('undo and redo by the keyboard, with one step at a time', async () => {
    const getMount = async () => (await service.call('GET', `/api/products/${PRODUCT}`)).body.mount;
    await openSheet(page, 'model');
    await page.select('select[aria-label="Mount"]', 'wall');
    await page.waitForSelector('button[title="Undo: mount"]');
    await page.select('select[aria-label="Class"]', 'none');
    await page.waitForSelector('button[title="Undo: class"]');
    await page.focus('.bench-sheets a');
    await pressWithControl('z');
    await page.waitForSelector('button[title="Redo: class"]');
    await pressWithControl('z');
    await page.waitForSelector('button[title="Redo: mount"]');
    expect(await getMount()).toBe('floor');
    await pressWithControl('y');
    await page.waitForSelector('button[title="Undo: mount"]');
    expect(await getMount()).toBe('wall');
    await pressWithControl('z');
    await page.waitForSelector('button[title="Undo: discarded changes"]');
    expect((await service.call('GET', `/api/products/${PRODUCT}`)).body).toMatchObject({
      mount: 'floor',
      class: 'stool',
    });
  });

  it('open the same sheet again from its address', async () => {
    await page.goto(`${service.url}/products/${PRODUCT}/parts`);
    await see('Kept from the part');
    expect(await page.$eval('.bench-sheets [aria-current="page"]', (link) => link.textContent)).toContain('Parts');
    await page.goBack();
    await page.waitForSelector('.title-block');
  });

  it('deliver, and offer the file', async () => {
    await openSheet(page, 'deliver');
    await press('Deliver');
    await page.waitForSelector('.deliveries tbody tr');
    const address = await page.$eval('.deliveries a[download]', (link) => link.getAttribute('href')!);
    const file = await service.call('GET', address);
    expect(new TextDecoder().decode(file.body.slice(0, 4))).toBe('glTF');
  });

  it('say where a finish is used that cannot be deleted', async () => {
    await page.goto(`${service.url}/finishes`);
    await press('Tarn blue');
    await press('Delete finish');
    await see('is in use');
  });

  it('run without a fault', () => {
    expect(faults).toEqual([]);
  });
});
