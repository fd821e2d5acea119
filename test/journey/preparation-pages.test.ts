import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { BrowserContext, ElementHandle, Page } from 'puppeteer-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openPages } from '../support/open-pages.ts';
import { startService, type TestService } from '../support/start-service.ts';
import { CHAIR_PARTS, makeSupplierChair } from '../support/supplier-chair.ts';
import { openSheet } from '../support/work-page.ts';

// A bad supplier model is prepared on its page with the proposed repairs, in one visit. Pictures are refused and WebGL
// is switched off: this test needs neither, and both take machine time.

const PATH = '/api/products/CHAIR';
let service: TestService;
let browser: BrowserContext;
let page: Page;
let folder: string;
const faults: string[] = [];

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'dyeworks-chair-'));
  service = await startService();
  await service.call('POST', '/api/products', { code: 'CHAIR', name: 'Supplier chair', class: 'dining-chair' });
  const model = await makeSupplierChair();
  const { status } = await service.call('PUT', `${PATH}/model`, model, { 'content-type': 'model/gltf-binary' });
  expect(status).toBe(201);
  ({ browser, page } = await openPages(faults));
  await page.goto(`${service.url}/products/CHAIR`);
});

afterAll(async () => {
  await browser?.close();
  await service?.close();
  await rm(folder, { recursive: true, force: true });
});

/** Presses the button whose label begins with these words. */
async function press(words: string): Promise<void> {
  await page.locator(`::-p-xpath(//button[starts-with(normalize-space(), "${words}")][not(@disabled)])`).click();
}

/** Waits until the text is somewhere on the page. */
async function see(text: string): Promise<void> {
  await page.waitForFunction((wanted) => document.body.textContent.includes(wanted), { timeout: 60_000 }, text);
}

async function upload(name: string, model: Uint8Array): Promise<void> {
  const path = join(folder, name);
  await writeFile(path, model);
  const field = (await page.waitForSelector('.drop input[type="file"]')) as ElementHandle<HTMLInputElement>;
  await field.uploadFile(path);
}

const getReadiness = async () => (await service.call('GET', `${PATH}/readiness`)).body;
const getRevision = async () => (await service.call('GET', PATH)).body.model.revision;
/** Codes of the findings that stand against a delivery. */
const listBlockers = async () =>
  (await getReadiness()).findings
    .filter(({ severity }: { severity: string }) => severity !== 'note')
    .map(({ code }: { code: string }) => code);
const getSlots = async () => (await service.call('GET', `${PATH}/slots`)).body.slots;

describe('a supplier’s chair', () => {
  it('is shown with its findings, and with the repairs that resolve them', async () => {
    await page.waitForSelector('.repair-step');
    await see('the model was drawn in centimetres');
    const ticks = await page.$$eval('.repair-step input[type="checkbox"]', (boxes) =>
      boxes.map(({ checked }) => checked),
    );
    expect(ticks.length).toBeGreaterThan(2);
    expect(ticks).not.toContain(false);
    await page.$$eval('details.fold', (folds) => folds.map((fold) => fold.setAttribute('open', '')));
    await see(`${CHAIR_PARTS} draw calls`);
  });

  it('previews the repairs and changes nothing', async () => {
    await page.locator('.groups tbody tr:first-child input').fill('frame oak');
    await press('Preview repairs');
    await see('Not applied yet');
    expect(await page.$eval('.before-after', (table) => table.textContent)).toContain('460 × 523 × 820 mm');
    expect(await getRevision()).toBe(1);
  });

  it('is ready after the repairs, with the slots as named', async () => {
    await press('Apply ');
    await see('Revision 2 is saved');
    // without a variant, a delivery is not possible
    await see('The product has no variants yet');
    expect(await listBlockers()).toEqual(['no-schedule']);
    const slots = await getSlots();
    expect(slots.map((slot: { label: string }) => slot.label)).toContain('frame oak');
    expect(slots.length).toBeGreaterThan(2);
  });

  it('are undone in one step, and done again', async () => {
    // the way back stands beside the repairs as well as in the bar
    await press('Undo these repairs');
    await page.waitForSelector('button[title="Redo: repairs, revision 2"]');
    expect(await getRevision()).toBe(1);
    expect((await service.call('GET', `${PATH}/preparation`)).body.steps).toEqual([]);
    await page.locator('button[title="Redo: repairs, revision 2"]').click();
    await page.waitForSelector('button[title="Undo: repairs, revision 2"]');
    expect(await getRevision()).toBe(2);
    expect((await service.call('GET', `${PATH}/preparation`)).body.steps).not.toEqual([]);
  });

  it('lists the steps, which can be moved by the keyboard', async () => {
    const first = () => page.$eval('.ordered-steps li:first-child .measure', (step) => step.textContent);
    await page.waitForSelector('.ordered-steps');
    const before = await first();
    await page.focus('.ordered-steps li:first-child button[name="down"]');
    await page.keyboard.press('Enter');
    await see('Not saved yet.');
    expect(await first()).not.toBe(before);
    // the focus follows the step
    await page.waitForFunction(() => document.activeElement?.closest('li')?.matches('.ordered-steps li:nth-child(2)'));
    await press('Discard changes');
    expect(await first()).toBe(before);
  });

  it('uses a newer export when a person confirms it', async () => {
    await upload('wednesday.glb', await makeSupplierChair({ changed: true }));
    await see('has arrived');
    await see('slots were found again');
    expect(await getRevision()).toBe(2);
    await press('Cancel');
    await see('Nothing has changed.');
    expect(await getRevision()).toBe(2);
    await press('Use this revision, revision 4');
    await see('is now current.');
    expect(await getRevision()).toBe(4);
    expect(await listBlockers()).toEqual(['no-schedule']);
    expect((await getSlots()).map((slot: { label: string }) => slot.label)).toContain('frame oak');
  });

  it('returns to the original model, and forward again', async () => {
    await press('Go back to this revision, revision 1');
    await see('Revision 1 is now current.');
    await see('the model was drawn in centimetres');
    expect((await listBlockers()).length).toBeGreaterThan(1);
    await press('Use this revision, revision 4');
    await see('Revision 4 is now current.');
    expect(await listBlockers()).toEqual(['no-schedule']);
  });

  it('lets the user pick pieces and make them a slot', async () => {
    await openSheet(page, 'parts');
    await press('Choose pieces');
    await page.waitForSelector('.pieces tbody input');
    await page.locator('.pieces tbody tr:first-child input').click();
    await page.locator('::-p-xpath(//label[span[normalize-space()="Slot name"]]//input)').fill('picked by hand');
    await press('Separate pieces');
    await see('revision 5,');
    expect((await getSlots()).map((slot: { label: string }) => slot.label)).toContain('picked by hand');
  });

  it('accepts another file-size target', async () => {
    await openSheet(page, 'model');
    await page.select('select[aria-label="Budget"]', 'print');
    await see('No published source: judgement.');
    expect((await service.call('GET', PATH)).body.budget).toBe('print');
  });

  it('never throws', () => {
    expect(faults).toEqual([]);
  });
});
