import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { BrowserContext, ElementHandle, Page } from 'puppeteer-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { listAxeViolations } from '../support/check-axe.ts';
import { readFocus, tabTo } from '../support/keyboard.ts';
import { openPages } from '../support/open-pages.ts';
import { startService, type TestService } from '../support/start-service.ts';
import { makeSupplierChair } from '../support/supplier-chair.ts';
import { seeText } from '../support/work-page.ts';

// A newcomer with a supplier's file, by the keyboard alone: from the file to the delivery. The dialog in which a file is
// chosen belongs to the operating system. Each state of the pages is checked by axe-core (WCAG 2.2).

let service: TestService;
let browser: BrowserContext;
let page: Page;
let folder: string;
const faults: string[] = [];

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'dyeworks-newcomer-'));
  service = await startService({ DYEWORKS_DEMO: 'on' });
  await service.filled;
  ({ browser, page } = await openPages(faults));
});

afterAll(async () => {
  await browser?.close();
  await service?.close();
  await rm(folder, { recursive: true, force: true });
});

const see = (text: string) => seeText(page, text, 60_000);

async function press(name: string | RegExp): Promise<void> {
  await tabTo(page, name);
  await page.keyboard.press('Enter');
}

/** No state of the pages may lose the focus or break a rule of accessibility. */
async function expectSound(): Promise<void> {
  expect(await readFocus(page)).not.toBe('');
  expect(await listAxeViolations(page)).toEqual([]);
}

describe('a newcomer by the keyboard alone', () => {
  it('adds a product from a supplier’s file', async () => {
    await page.goto(service.url);
    await see('Add line');
    expect(await listAxeViolations(page)).toEqual([]);
    const path = join(folder, 'Dining_chair.glb');
    await writeFile(path, await makeSupplierChair());
    await tabTo(page, 'Choose a file');
    const field = (await page.waitForSelector('.drop input[type="file"]')) as ElementHandle<HTMLInputElement>;
    await field.uploadFile(path);
    await see('New product from Dining_chair.glb');
    await expectSound();
    await tabTo(page, 'Line');
    await page.keyboard.type('Quillmere');
    await press('Add product');
    await see('Open Dining chair');
    await expectSound();
    await page.keyboard.press('Enter');
    await see('revision 1');
  });

  it('repairs it', async () => {
    await page.waitForSelector('.repair-step');
    await expectSound();
    await press(/^Apply \d+ repairs$/);
    await see('Revision 2 is saved');
    await expectSound();
  });

  it('sees its parts', async () => {
    await press(/^Parts: /);
    await see('Kept from the part');
    await expectSound();
    await press(/^Change the kept maps/);
    await see('Relief');
    await expectSound();
  });

  it('adds variants', async () => {
    await page.goto(page.url().replace(/parts$/, 'schedule'));
    await see('Add check set');
    await press('Add check set');
    await page.waitForSelector('form, .check-set, .panel');
    await expectSound();
    await press(/^Add \d+ variants$/);
    await see('variants added.');
    await expectSound();
  });

  it('delivers one file with all of them', async () => {
    await press(/^Deliver: /);
    await see('A delivery is one GLB');
    await expectSound();
    await press('Deliver');
    await see('Delivery 1 is ready');
    await expectSound();
    const { deliveries } = (await service.call('GET', '/api/products/Dining_chair/deliveries')).body;
    const file = await service.call('GET', deliveries[0].model);
    expect(new TextDecoder().decode(file.body.slice(0, 4))).toBe('glTF');
    expect(deliveries[0].variants).toBeGreaterThan(1);
  });

  it('meets no fault', () => {
    expect(faults).toEqual([]);
  });
});
