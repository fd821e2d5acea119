import type { BrowserContext, Page } from 'puppeteer-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { formatNumber } from '../../server/core/texts/format-text.ts';
import { openPages } from '../support/open-pages.ts';
import { readRegistryModel } from '../support/registry-models.ts';
import { startService, type TestService } from '../support/start-service.ts';
import { selectCell } from '../support/work-page.ts';

// The range and the rules of the demo line on its page, with a third product that shares two positions, and their
// effects on a product's page. Model: registry package @webxr-input-profiles/assets 1.0.20 (MIT). Nobody has counted
// the demo's combinations by hand, so the test compares the pages with the API, which has its own tests.

const LAMP = '/api/products/QM-L46';
let service: TestService;
let browser: BrowserContext;
let page: Page;
const faults: string[] = [];

beforeAll(async () => {
  service = await startService({ DYEWORKS_DEMO: 'on' });
  await service.filled;
  const product = { code: 'TOUCH', name: 'Touch switch', line: 'quillmere' };
  expect((await service.call('POST', '/api/products', product)).status).toBe(201);
  const { body } = await service.call('PUT', '/api/products/TOUCH/model', readRegistryModel('oculus-touch/left.glb'), {
    'content-type': 'model/gltf-binary',
  });
  const positions = ['fittings', 'cord'];
  for (const [at, { slot }] of body.slots.entries()) {
    await service.call('PATCH', `/api/products/TOUCH/slots/${slot}`, { position: positions[at] });
  }
  ({ browser, page } = await openPages(faults));
  await page.goto(`${service.url}/lines/quillmere`);
});

afterAll(async () => {
  await browser?.close();
  await service?.close();
});

/** Presses the button whose label begins with these words. */
async function press(words: string): Promise<void> {
  await page.locator(`::-p-xpath(//button[starts-with(normalize-space(), "${words}")][not(@disabled)])`).click();
}

/** Waits until the text is somewhere on the page. */
async function see(text: string): Promise<void> {
  await page.waitForFunction((wanted) => document.body.textContent.includes(wanted), { timeout: 30_000 }, text);
}

const pick = (label: string, value: string) => page.select(`select[aria-label="${label}"]`, value);
const getLine = async () => (await service.call('GET', '/api/lines/quillmere')).body;
const getEntry = async (finish: string) =>
  (await getLine()).range.find((entry: { finish: string }) => entry.finish === finish);
/** The number of combinations, in the format of the pages. */
const getCount = async (product: string) =>
  formatNumber(BigInt((await service.call('GET', `/api/products/${product}/schedule/count`)).body.count));
/** Text of the row that begins with these words, in the table of this class. */
const readRow = (table: string, words: string) =>
  page.$$eval(
    `.${table} tbody tr`,
    (rows, wanted) => rows.map((row) => row.textContent).find((text) => text.startsWith(wanted)) ?? '',
    words,
  );

describe('a line’s page', () => {
  it('shows the positions that three products share', async () => {
    await see('Touch switch');
    await page.waitForFunction(() => !document.body.textContent.includes('Counting …'));
    expect(await readRow('positions', 'fittings')).toContain('Tarrowick table lamp, Tarrowick stool, Touch switch');
    expect(await readRow('positions', 'cord')).toContain('Tarrowick table lamp, Touch switch');
    // the companion rule binds the two products that have both positions
    expect(await readRow('rules', '4')).toContain('Tarrowick table lamp, Touch switch');
    for (const [name, code] of [
      ['Tarrowick table lamp', 'QM-L46'],
      ['Tarrowick stool', 'QM-S45'],
      ['Touch switch', 'TOUCH'],
    ]) {
      expect(await readRow('effects', name!)).toContain(`${await getCount(code!)} combinations`);
    }
  });

  it('shows the range by article and grade, and changes an article’s grade at once', async () => {
    const heads = await page.$$eval('.range thead th', (cells) => cells.map((cell) => cell.textContent));
    expect(heads).toEqual(['Article', 'Grade A', 'Grade B', 'Grade C']);
    const places = () =>
      page.$$eval('.range tbody tr:not(.opened)', (rows) =>
        rows
          .filter((row) => row.textContent.startsWith('Coach lacquer'))
          .flatMap((row) => [...row.querySelectorAll('td')].map((cell) => cell.querySelectorAll('.chip').length)),
      );
    expect(await places()).toEqual([0, 2, 0]);
    await press('Coach lacquer');
    await page.locator('input[aria-label="Price grade of all finishes of Coach lacquer"]').fill('C');
    await page.keyboard.press('Enter');
    await see('Saved.');
    expect(await places()).toEqual([0, 0, 2]);
    expect((await getEntry('LCQ-702')).grade).toBe('C');
    await press('Coach lacquer');
  });

  it('puts a finish in phase-out, with its last day', async () => {
    await page.locator('#entry-FEL-137').click();
    await see('Used in the schedule of QM-L46 (1 variant).');
    await pick('Status of Moss linen', 'phase-out');
    const day = await page.waitForSelector('.range-entry input[type="date"]');
    await day!.evaluate((field) => {
      (field as HTMLInputElement).focus();
      (field as HTMLInputElement).value = '2039-06-30';
      (field as HTMLInputElement).blur();
    });
    await see('until 2039-06-30');
    await pick('Replacement of Moss linen', 'FEL-142');
    await see('until 2039-06-30, then FEL-142');
    // the page shows a choice before it is stored
    await expect
      .poll(() => getEntry('FEL-137'), { timeout: 30_000 })
      .toMatchObject({ status: 'phase-out', lastOrder: '2039-06-30', replacedBy: 'FEL-142' });
    await page.locator('#entry-FEL-137').click();
  });

  it('shows an error at the rule it belongs to', async () => {
    await press('Add rule');
    await page.waitForSelector('.rule-form');
    await pick('Position', 'shade');
    const { name, positions } = await getLine();
    const without = positions.filter(({ position }: { position: string }) => position !== 'shade');
    expect((await service.call('PUT', '/api/lines/quillmere', { name, positions: without })).status).toBe(200);
    await press('Save rule');
    await page.waitForFunction(() =>
      document.querySelector('.rules ~ [role="alert"]')?.textContent.includes('no position “shade”'),
    );
    expect((await service.call('PUT', '/api/lines/quillmere', { name, positions })).status).toBe(200);
  });

  it('stores a rule, and shows its effects at once', async () => {
    const before = await getCount('QM-L46');
    await pick('Position', 'fittings');
    await pick('Finishes at fittings by', 'finish');
    await pick('Value at fittings', 'PLT-804');
    await pick('Other position', 'cord');
    await pick('Finishes at cord by', 'family');
    await see('“Fittings” in PLT-804 never goes with “Cord” in any textile.');
    await press('Save rule');
    await see('No finish is left for Cord because Stem and fitter PLT-804 excludes all 3 of its finishes.');
    await see(`${before} combinations before the last change`);
    expect(await readRow('effects', 'Tarrowick table lamp')).toContain('1 of 9');
    expect((await getLine()).rules).toHaveLength(5);
  });
});

describe('two people who change the line at the same time', () => {
  it('both keep their changes, and the page reports what the other one did', async () => {
    const { name, range } = await getLine();
    await page.goto(`${service.url}/lines/quillmere`);
    await page.locator('#entry-FEL-142').click();
    const changed = range.map((entry: { finish: string }) =>
      entry.finish === 'FEL-158' ? { ...entry, grade: 'B' } : entry,
    );
    expect((await service.call('PUT', '/api/lines/quillmere', { name, range: changed })).status).toBe(200);
    await pick('Status of Slate linen', 'phase-out');
    await see('Saved. Someone else also changed the line: FEL-158: current, grade B; was current, grade A.');
    expect(await getEntry('FEL-158')).toMatchObject({ grade: 'B' });
    expect(await getEntry('FEL-142')).toMatchObject({ status: 'phase-out' });
    // consecutive changes are stored one after the other
    await page.evaluate(() => {
      for (const status of ['current', 'phase-out', 'current']) {
        const select = document.querySelector<HTMLSelectElement>('select[aria-label="Status of Slate linen"]')!;
        select.value = status;
        select.dispatchEvent(new Event('change', { bubbles: true }));
      }
    });
    await page.waitForFunction(() => document.querySelector('[role="status"]')?.textContent === 'Saved.');
    expect(await getEntry('FEL-142')).toMatchObject({ status: 'current' });
    expect(await getEntry('FEL-158')).toMatchObject({ grade: 'B' });
    expect((await service.call('PUT', '/api/lines/quillmere', { name, range })).status).toBe(200);
  });

  it('do not undo a rule that the other one has changed', async () => {
    await page.goto(`${service.url}/lines/quillmere`);
    const { rules } = await getLine();
    await page.locator('#rule-0').click();
    await page.waitForSelector('.rule-form');
    expect((await service.call('PUT', '/api/lines/quillmere/rules', { rules: rules.slice(1) })).status).toBe(200);
    await press('Delete rule');
    await see('Someone else changed or deleted this rule');
    // its place now has another rule, which the open form does not edit
    await press('Save rule');
    await see('Someone else changed or deleted this rule');
    expect((await getLine()).rules).toEqual(rules.slice(1));
    expect((await service.call('PUT', '/api/lines/quillmere/rules', { rules })).status).toBe(200);
  });

  it('get a warning before they discontinue a finish on a line that has changed', async () => {
    await page.goto(`${service.url}/lines/quillmere`);
    const { name } = await getLine();
    await page.locator('#entry-MLB-304').click();
    await press('Preview');
    await see('MLB-304 will be discontinued');
    expect((await service.call('PUT', '/api/lines/quillmere', { name: `${name}, again` })).status).toBe(200);
    await press('Discontinue MLB-304');
    await see(`Changes since then: The name changed from “${name}” to “${name}, again”`);
    expect((await getEntry('MLB-304')).status).toBe('current');
    expect((await service.call('PUT', '/api/lines/quillmere', { name })).status).toBe(200);
  });
});

describe('a product’s page', () => {
  it('says why a row is invalid, and which finishes are incompatible with it', async () => {
    await page.goto(`${service.url}/products/QM-L46/schedule`);
    await see(`Options and rules allow ${await getCount('QM-L46')} combinations`);
    await see('1 finish on offer has no valid combination');
    await press('Go to the next');
    await see('Stem and fitter PLT-804 and Cord RPW-518 cannot be combined');
    await selectCell(page, 4, 'Cord');
    await page.keyboard.press('Enter');
    await see('not with Stem and fitter PLT-804');
    expect(await page.$$eval('.offers .offer .against', (reasons) => reasons.length)).toBe(3);
    await page.keyboard.press('Escape');
  });

  it('lets a companion follow', async () => {
    await selectCell(page, 1, 'Stem');
    await page.keyboard.type('fdy-610');
    await page.keyboard.press('Enter');
    await see('Stem and fitter FDY-610 and Cord RPW-518 cannot be combined');
    await press('Use RPW-510 for Cord');
    await page.waitForFunction(() => document.querySelector('.row-notes') === null);
    await press('Discard changes');
  });

  it('says what a check set will add, and adds it', async () => {
    const planned = await service.call('POST', `${LAMP}/schedule/check-set`, { kind: 'pairs', preview: true });
    await press('Add check set');
    await see('Together they show all');
    await page.locator('::-p-xpath(//label[contains(., "Every allowed pair")]//input)').click();
    await see(`Adds ${formatNumber(planned.body.added)} variants`);
    await press(`Add ${planned.body.added} variants`);
    await see(`${formatNumber(planned.body.added)} variants added.`);
    const { variants } = (await service.call('GET', `${LAMP}/schedule`)).body;
    expect(variants).toHaveLength(9 + planned.body.added);
  });
});

describe('a discontinued finish', () => {
  it('is previewed, and nothing changes', async () => {
    await page.goto(`${service.url}/lines/quillmere`);
    await page.locator('#rule-4').click();
    await press('Delete rule');
    await see('Saved.');
    await page.locator('#entry-FEL-110').click();
    await pick('Replacement', 'FEL-124');
    await press('Preview');
    await see('FEL-110 will be discontinued and replaced by FEL-124.');
    await see('L46-01 → L46-01-2');
    await see('The default variant will change from L46-01 to L46-01-2.');
    expect((await getEntry('FEL-110')).status).toBe('current');
  });

  it('is then discontinued, in one action', async () => {
    await press('Discontinue FEL-110');
    await see('FEL-110 is discontinued and replaced by FEL-124.');
    await see('discontinued, replaced by FEL-124');
    expect(await getEntry('FEL-110')).toMatchObject({ status: 'discontinued', replacedBy: 'FEL-124' });
    const { default: first, variants } = (await service.call('GET', `${LAMP}/schedule`)).body;
    expect(first).toBe('L46-01-2');
    expect(JSON.stringify(variants)).not.toContain('FEL-110"');
    expect((await getLine()).rules).toHaveLength(4);
  });

  it('is taken back, with the schedules, where nobody changed the same rows since', async () => {
    const schedule = (await service.call('GET', `${LAMP}/schedule`)).body;
    const { findings: _, ...json } = schedule;
    const [last] = schedule.variants.slice(-1);
    const variants = [...schedule.variants.slice(0, -1), { ...last, name: 'Renamed since' }];
    expect((await service.call('PUT', `${LAMP}/schedule`, { ...json, variants })).status).toBe(200);
    await press('Undo: discontinue FEL-110');
    await see('FEL-110 is in the range as before, and so are the schedules that used it.');
    expect(await getEntry('FEL-110')).not.toHaveProperty('replacedBy');
    const back = (await service.call('GET', `${LAMP}/schedule`)).body;
    expect(back.default).toBe('L46-01');
    expect(back.variants.map(({ code }: { code: string }) => code)).not.toContain('L46-01-2');
    expect(back.variants.find(({ code }: { code: string }) => code === last.code).name).toBe('Renamed since');
  });

  it('is taken back on the bench of a product, too', async () => {
    await page.waitForSelector('select[aria-label="Replacement"]');
    await pick('Replacement', 'FEL-124');
    await press('Preview');
    await see('L46-01 → L46-01-2');
    await press('Discontinue FEL-110');
    await see('discontinued, replaced by FEL-124');
    await page.waitForSelector('::-p-xpath(//button[normalize-space()="Undo: discontinue FEL-110"])');
    await page.locator('.plates a[href="/products/QM-L46"]').click();
    await page.locator('button[title="Undo: discontinued FEL-110"]').click();
    await page.waitForSelector('button[title="Redo: discontinued FEL-110"]', { timeout: 60_000 });
    expect((await getEntry('FEL-110')).status).toBe('current');
    expect((await service.call('GET', `${LAMP}/schedule`)).body.default).toBe('L46-01');
  });

  it('runs without a fault on any page', () => {
    expect(faults).toEqual([]);
  });
});
