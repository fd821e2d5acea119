import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { BrowserContext, Page } from 'puppeteer-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { listAxeViolations } from '../support/check-axe.ts';
import { FINGER, KEYBOARD, MOUSE, takeInHand } from '../support/hands.ts';
import { readFocus } from '../support/keyboard.ts';
import { openPages } from '../support/open-pages.ts';
import { startService, type TestService } from '../support/start-service.ts';
import { makeSupplierChair } from '../support/supplier-chair.ts';
import { seeText } from '../support/work-page.ts';

// A newcomer with a supplier's file goes from the file to the delivery: by the keyboard alone, by mouse, and by touch on a
// phone. Each state of the pages is checked by axe-core (WCAG 2.2). The view in the hands of a newcomer: `handle-view.test.ts`.

let service: TestService;
let folder: string;
let chair: Uint8Array;

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'dyeworks-newcomer-'));
  chair = await makeSupplierChair();
  service = await startService({ DYEWORKS_DEMO: 'on' });
  await service.filled;
});

afterAll(async () => {
  await service?.close();
  await rm(folder, { recursive: true, force: true });
});

describe.each([KEYBOARD, MOUSE, FINGER])('a newcomer by $name alone', (hands) => {
  let browser: BrowserContext;
  let page: Page;
  const faults: string[] = [];
  const code = `Chair_${hands.name}`;
  const see = (text: string) => seeText(page, text, 60_000);
  const press = (name: string | RegExp) => hands.press(page, name);

  beforeAll(async () => {
    ({ browser, page } = await openPages(faults));
    await takeInHand(page, hands);
    await page.goto(service.url);
  });
  afterAll(async () => {
    await browser?.close();
  });

  /** No state of the pages may lose the focus, break a rule of accessibility, or scroll sideways. */
  async function expectSound(): Promise<void> {
    if (hands === KEYBOARD) expect(await readFocus(page)).not.toBe('');
    expect(await listAxeViolations(page)).toEqual([]);
    expect(await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)).toBeLessThanOrEqual(0);
  }

  it('adds a product from a supplier’s file', async () => {
    await see('Add line');
    expect(await listAxeViolations(page)).toEqual([]);
    const path = join(folder, `${code}.glb`);
    await writeFile(path, chair);
    await hands.giveFile(page, path);
    await see(`New product from ${code}.glb`);
    await expectSound();
    if (hands === KEYBOARD) {
      await hands.type(page, 'Line', 'Quillmere');
    } else {
      // the list that opens belongs to the browser
      await press('Line');
      await page.keyboard.press('Escape');
      await page.select('select[aria-label="Line"]', 'quillmere');
    }
    await press('Add product');
    await see(`Open Chair ${hands.name}`);
    await expectSound();
    if (hands === KEYBOARD) await page.keyboard.press('Enter');
    else await press(`Open Chair ${hands.name}`);
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
    const { deliveries } = (await service.call('GET', `/api/products/${code}/deliveries`)).body;
    const file = await service.call('GET', deliveries[0].model);
    expect(new TextDecoder().decode(file.body.slice(0, 4))).toBe('glTF');
    expect(deliveries[0].variants).toBeGreaterThan(1);
  });

  it('meets no fault', () => {
    expect(faults).toEqual([]);
  });
});
