import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { BrowserContext, ElementHandle, Page } from 'puppeteer-core';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { listAxeViolations } from '../support/check-axe.ts';
import { FINISHES, putLineOfFinishes } from '../support/job.ts';
import { openPages } from '../support/open-pages.ts';
import { startService, type TestService } from '../support/start-service.ts';
import { pressButton, seeText } from '../support/work-page.ts';

// A line moves by the pages: exported on its page, imported on the home page, with a decision about what differs.

let here: TestService;
let there: TestService;
let browser: BrowserContext;
let page: Page;
let folder: string;
const faults: string[] = [];
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'dyeworks-archive-pages-'));
  here = await startService();
  there = await startService();
  await putLineOfFinishes(here);
  ({ browser, page } = await openPages(faults));
});
afterAll(async () => {
  await browser?.close();
  await here?.close();
  await there?.close();
  rmSync(folder, { recursive: true, force: true });
});

async function choose(): Promise<void> {
  const field = (await page.waitForSelector('input[aria-label="Import line"]')) as ElementHandle<HTMLInputElement>;
  await field.uploadFile(join(folder, 'line.zip'));
}

it('is exported by a link, listed before it is imported, and asks about what differs', async () => {
  await page.goto(`${here.url}/lines/FEN`);
  const link = (await page.waitForSelector('a[href$="/archive.zip"]'))!;
  const address = await link.evaluate((each) => (each as HTMLAnchorElement).href);
  writeFileSync(join(folder, 'line.zip'), Buffer.from(await (await fetch(address)).arrayBuffer()));

  await page.goto(there.url);
  await choose();
  await seeText(page, 'Import of the line FEN');
  await seeText(page, '6 things new, 0 the same already.');
  expect((await there.call('GET', '/api/lines')).body.lines).toEqual([]);
  expect(await listAxeViolations(page)).toEqual([]);
  await pressButton(page, 'Import');
  await seeText(page, 'The line FEN is imported.');
  expect((await there.call('GET', '/api/lines/FEN')).body).toEqual((await here.call('GET', '/api/lines/FEN')).body);

  await choose();
  await seeText(page, 'Everything in this archive is here already.');
  const { name, family } = FINISHES['OAK-1']!;
  await there.call('PUT', '/api/finishes/OAK-1', { name, family, colour: { hex: '#123456' } });
  await choose();
  await seeText(page, '1 finish differs');
  await page.click('input[name="decide-finish"]:not(:checked)');
  await pressButton(page, 'Import');
  await seeText(page, 'The line FEN is imported.');
  const { colour } = (await there.call('GET', '/api/finishes/OAK-1')).body;
  expect(colour.hex).toBe(FINISHES['OAK-1']!.hex);
  expect(faults).toEqual([]);
});
