import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser, ElementHandle, Page } from 'puppeteer-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openPages } from '../support/open-pages.ts';
import { startService, type TestService } from '../support/start-service.ts';
import { CHAIR_PARTS, makeSupplierChair } from '../support/supplier-chair.ts';

// A bad supplier model is made ready on its page, by what is proposed there, in one visit. Pictures are refused and
// WebGL is switched off: neither is what is tested here, and both would take the machine's time.

const PATH = '/api/products/CHAIR';
let service: TestService;
let browser: Browser;
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

/** Presses the button that begins with these words. */
async function press(words: string): Promise<void> {
  await page.locator(`::-p-xpath(//button[starts-with(normalize-space(), "${words}")][not(@disabled)])`).click();
}

/** Waits until the text stands somewhere on the page. */
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
/** Codes of what stands against a delivery. */
const listAgainst = async () =>
  (await getReadiness()).findings
    .filter(({ severity }: { severity: string }) => severity !== 'note')
    .map(({ code }: { code: string }) => code);
const getSlots = async () => (await service.call('GET', `${PATH}/slots`)).body.slots;

describe('a supplier’s chair', () => {
  it('is shown with what stands against it, and with the repairs that settle it', async () => {
    await see('Proposed repairs');
    await see('it was drawn in centimetres');
    const ticks = await page.$$eval('.steps input[type="checkbox"]', (boxes) => boxes.map(({ checked }) => checked));
    expect(ticks.length).toBeGreaterThan(2);
    expect(ticks).not.toContain(false);
    await page.$eval('details.fold', (fold) => fold.setAttribute('open', ''));
    await see(`${CHAIR_PARTS} draws`);
  });

  it('tells what the repairs would do, and changes nothing by it', async () => {
    await page.locator('.groups tbody tr:first-child input').fill('frame oak');
    await press('See what they would do');
    await see('What they would come to');
    expect(await page.$eval('.before-after', (table) => table.textContent)).toContain('460 × 523 × 820 mm');
    expect(await getRevision()).toBe(1);
  });

  it('is ready once they are made, with the slots as they were named', async () => {
    await press('Make these');
    await see('Revision 2 is made');
    // without a variant nothing can be delivered
    await see('The product has no variants yet');
    expect(await listAgainst()).toEqual(['no-schedule']);
    const slots = await getSlots();
    expect(slots.map((slot: { label: string }) => slot.label)).toContain('frame oak');
    expect(slots.length).toBeGreaterThan(2);
  });

  it('lists the steps, which can be moved by the keyboard', async () => {
    const first = () => page.$eval('.ordered-steps li:first-child .measure', (step) => step.textContent);
    await page.waitForSelector('.ordered-steps');
    const before = await first();
    await page.focus('.ordered-steps li:first-child button[name="down"]');
    await page.keyboard.press('Enter');
    await see('Not saved yet.');
    expect(await first()).not.toBe(before);
    // the focus goes along with the step
    await page.waitForFunction(() => document.activeElement?.closest('li')?.matches('.ordered-steps li:nth-child(2)'));
    await press('Take the edits back');
    expect(await first()).toBe(before);
  });

  it('takes a newer export in, when a person says so', async () => {
    await upload('wednesday.glb', await makeSupplierChair({ changed: true }));
    await see('has arrived');
    await see('slots were found again');
    expect(await getRevision()).toBe(2);
    await press('Leave it');
    await see('Nothing is changed.');
    expect(await getRevision()).toBe(2);
    await press('Take this one, revision 4');
    await see('is the current one now.');
    expect(await getRevision()).toBe(4);
    expect(await listAgainst()).toEqual(['no-schedule']);
    expect((await getSlots()).map((slot: { label: string }) => slot.label)).toContain('frame oak');
  });

  it('goes back to how it came, and forward again', async () => {
    await press('Go back to this one, revision 1');
    await see('Revision 1 is the current one now.');
    await see('it was drawn in centimetres');
    expect((await listAgainst()).length).toBeGreaterThan(1);
    await press('Take this one, revision 4');
    await see('Revision 4 is the current one now.');
    expect(await listAgainst()).toEqual(['no-schedule']);
  });

  it('lets pieces be picked by hand and made a slot', async () => {
    await press('Choose pieces');
    await page.waitForSelector('.pieces tbody input');
    await page.locator('.pieces tbody tr:first-child input').click();
    await page.locator('.piece-choice form input').fill('picked by hand');
    await press('Separate what is ticked');
    await see('Revision 5 is made');
    expect((await getSlots()).map((slot: { label: string }) => slot.label)).toContain('picked by hand');
  });

  it('is held against another budget', async () => {
    await page.select('select[aria-label="Budget the model is held against"]', 'print');
    await see('No published source: judgement.');
    expect((await service.call('GET', PATH)).body.budget).toBe('print');
  });

  it('never throws', () => {
    expect(faults).toEqual([]);
  });
});
