import type { BrowserContext, Page } from 'puppeteer-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { listAxeViolations } from '../support/check-axe.ts';
import { addLongSchedule, LONG } from '../support/long-schedule.ts';
import { openPages } from '../support/open-pages.ts';
import { startService, type TestService } from '../support/start-service.ts';
import { pressButton, seeText, selectCell, writeCell } from '../support/work-page.ts';

// The schedule of twelve slots and two thousand rows in a real browser, mostly by keyboard.

const SLOTS = 12;
const ROWS = 2000;
/** Before the slots: picture, code, name. */
const FIRST_SLOT = 3;

let service: TestService;
let browser: BrowserContext;
let page: Page;
let slots: string[];
const faults: string[] = [];

beforeAll(async () => {
  service = await startService();
  slots = await addLongSchedule(service, SLOTS, ROWS);
  ({ browser, page } = await openPages(faults));
  page.on('dialog', (dialog) => void dialog.accept());
  await page.goto(`${service.url}/products/${LONG}/schedule`);
  await page.waitForSelector('.grid [role="gridcell"]');
});

afterAll(async () => {
  await browser?.close();
  await service?.close();
});

const press = (words: string) => pressButton(page, words);
const see = (text: string) => seeText(page, text);
const hasViolations = () => listAxeViolations(page, '.bench-sheet');
const getSchedule = async () => (await service.call('GET', `/api/products/${LONG}/schedule`)).body;
const putSchedule = async (change: (row: Variant, at: number) => Variant) => {
  const { findings: _, ...schedule } = await getSchedule();
  const variants = schedule.variants.map(change);
  const { status } = await service.call('PUT', `/api/products/${LONG}/schedule`, { ...schedule, variants });
  expect(status).toBe(200);
};

interface Variant {
  readonly code: string;
  readonly name: string;
  readonly choices: Record<string, string>;
}

async function pressWith(modifier: 'Control' | 'Shift' | 'Alt', ...keys: Parameters<Page['keyboard']['press']>[0][]) {
  await page.keyboard.down(modifier);
  for (const key of keys) await page.keyboard.press(key);
  await page.keyboard.up(modifier);
}

/** The row, from 1, and the column, from 1, that have the focus; null outside of the grid. */
const readCursor = () =>
  page.evaluate(() => {
    const cell = document.activeElement?.closest('.grid [aria-colindex]');
    const row = cell?.closest('[role="row"]')?.getAttribute('aria-rowindex');
    return cell && row ? [Number(row) - 1, Number(cell.getAttribute('aria-colindex'))] : null;
  });

/** The texts of the selected cells that are in the document. */
const readSelected = () =>
  page.$$eval('.grid [aria-selected="true"]', (cells) => cells.map((cell) => cell.textContent.trim()));

const paste = (text: string) =>
  page.evaluate((plain) => {
    const clipboardData = new DataTransfer();
    clipboardData.setData('text/plain', plain);
    const event = new ClipboardEvent('paste', { clipboardData, bubbles: true, cancelable: true });
    document.activeElement!.dispatchEvent(event);
  }, text);

const copy = () =>
  page.evaluate(() => {
    const clipboardData = new DataTransfer();
    const event = new ClipboardEvent('copy', { clipboardData, bubbles: true, cancelable: true });
    document.activeElement!.dispatchEvent(event);
    return clipboardData.getData('text/plain');
  });

describe('the grid', () => {
  it('says its size, has few rows in the document, and one stop for Tab', async () => {
    const grid = await page.$eval('.grid', (element) => ({
      rows: element.getAttribute('aria-rowcount'),
      columns: element.getAttribute('aria-colcount'),
      inDocument: element.querySelectorAll('.grid-row').length,
      stops: element.querySelectorAll('[tabindex="0"]').length,
    }));
    expect(grid).toMatchObject({ rows: String(ROWS + 1), columns: String(SLOTS + 6), stops: 1 });
    expect(grid.inDocument).toBeLessThan(60);
    expect(await hasViolations()).toEqual([]);
  });

  it('is walked by keys, to every edge, and left by Tab', async () => {
    await selectCell(page, 1, 'Part 01');
    await page.keyboard.press('ArrowDown');
    await page.keyboard.press('ArrowRight');
    expect(await readCursor()).toEqual([2, FIRST_SLOT + 2]);
    await pressWith('Control', 'End');
    expect(await readCursor()).toEqual([ROWS, SLOTS + 6]);
    await page.keyboard.press('Home');
    await page.keyboard.press('PageUp');
    const [row, column] = (await readCursor())!;
    expect(row).toBeLessThan(ROWS);
    expect(column).toBe(1);
    await pressWith('Control', 'Home');
    await page.keyboard.press('ArrowUp');
    expect(await page.evaluate(() => document.activeElement?.role)).toBe('columnheader');
    await page.keyboard.press('ArrowDown');
    await page.keyboard.press('Tab');
    expect(await readCursor()).toBeNull();
    await pressWith('Shift', 'Tab');
    expect(await readCursor()).toEqual([1, 1]);
  });

  it('keeps the focus while its row is scrolled out of sight', async () => {
    await selectCell(page, 3, 'Part 01');
    await page.$eval('.grid', (grid) => {
      grid.scrollTop = 20_000;
    });
    await page.waitForSelector('.grid [aria-rowindex="565"]');
    expect(await readCursor()).toEqual([3, FIRST_SLOT + 1]);
    await page.keyboard.press('ArrowDown');
    expect(await readCursor()).toEqual([4, FIRST_SLOT + 1]);
  });

  it('finds a finish by what is typed, and sets it with Enter; Escape changes nothing', async () => {
    await selectCell(page, 1, 'Part 01');
    await page.keyboard.type('coal');
    await page.waitForSelector('.offers [aria-selected="true"]');
    expect(await hasViolations()).toEqual([]);
    await page.keyboard.press('Escape');
    expect(await readCursor()).toEqual([1, FIRST_SLOT + 1]);
    expect(await readSelected()).toEqual(['Oiled oak OAK-1']);
    await page.keyboard.type('coal');
    await page.keyboard.press('Enter');
    await see('Not saved: 1 row changed.');
    expect(await readSelected()).toEqual(['Coal black COAL_4']);
    expect(await readCursor()).toEqual([1, FIRST_SLOT + 1]);
  });

  it('sets nothing with Enter where no finish matches, or on an empty cell', async () => {
    await selectCell(page, 2, 'Part 01');
    const before = await readSelected();
    await page.keyboard.type('zzz');
    await see('No finish on offer has “zzz”');
    await page.keyboard.press('Enter');
    await page.keyboard.press('Escape');
    expect(await readSelected()).toEqual(before);
    await page.keyboard.press('Delete');
    await see('1 empty cell');
    await page.keyboard.press('Enter');
    await page.waitForSelector('.offers');
    expect(await page.$('.offers [aria-selected="true"]')).toBeNull();
    await page.keyboard.press('ArrowDown');
    await page.waitForSelector('#finishes-on-offer-0[aria-selected="true"]');
    await page.keyboard.press('Escape');
    await pressWith('Control', 'z');
    expect(await readSelected()).toEqual(before);
  });

  it('searches what is typed over another cell while the finishes are open', async () => {
    await selectCell(page, 2, 'Part 01');
    await page.keyboard.type('oak');
    await page.waitForSelector('.offers');
    await selectCell(page, 3, 'Part 02');
    await page.keyboard.type('coal');
    await page.waitForFunction(() => document.querySelector<HTMLInputElement>('[role="combobox"]')?.value === 'coal');
    await page.keyboard.press('Escape');
    expect(await readCursor()).toEqual([3, FIRST_SLOT + 2]);
  });

  it('scrolls to what is found, and leaves the focus in the field', async () => {
    await selectCell(page, 1, 'Part 01');
    await pressWith('Control', 'f');
    await page.keyboard.type('Variant 01500');
    await page.keyboard.press('Enter');
    await page.waitForFunction(() => {
      const grid = document.querySelector('.grid')!.getBoundingClientRect();
      const row = document.querySelector('.grid [aria-rowindex="1501"]')?.getBoundingClientRect();
      return row !== undefined && row.top >= grid.top && row.bottom <= grid.bottom + 1;
    });
    expect(await page.evaluate(() => document.activeElement?.id)).toBe('schedule-find');
    await page.keyboard.press('Escape');
  });

  it('clears a cell, finds the empty one, and fills it from above', async () => {
    await selectCell(page, 40, 'Part 03');
    await page.keyboard.press('Delete');
    await see('1 empty cell');
    await selectCell(page, 1, 'Part 01');
    await page.keyboard.press('F8');
    expect(await readCursor()).toEqual([40, FIRST_SLOT + 3]);
    await pressWith('Control', 'd');
    await see('No empty cells');
  });

  it('takes forty cells from a spreadsheet in one step, and gives them back in one', async () => {
    await selectCell(page, 100, 'Part 05');
    await pressWith('Shift', ...Array.from({ length: 39 }, () => 'ArrowDown' as const));
    const before = await copy();
    expect(before.split('\r\n')).toHaveLength(40);
    await paste(
      Array.from({ length: 40 }, (_, at) => (at === 7 ? 'Elm' : at % 2 ? 'TARN BLUE' : 'coal_4')).join('\r\n'),
    );
    await see('1 cell could not be read. Use the code or the name of a finish: row 8, Part 05: “Elm”.');
    const after = (await copy()).split('\r\n');
    expect([after[0], after[1], after[39]]).toEqual(['COAL_4', 'TARN.3', 'TARN.3']);
    await pressWith('Control', 'z');
    await page.waitForSelector('button[title="Redo: pasted cells"]');
    expect(await copy()).toBe(before);
  });

  it('is sorted and filtered by its heads, with counts, and shows all again', async () => {
    await selectCell(page, 1, 'Part 02');
    await page.keyboard.press('ArrowUp');
    await page.keyboard.press('Enter');
    await see('Column Part 02');
    expect(await hasViolations()).toEqual([]);
    const label = await page.$eval('.values label', (value) => value.textContent.trim());
    expect(label).toMatch(/^.+, \d/);
    await page.locator('.values label input').click();
    await see(`Part 02: ${label}`);
    const shown = Number(/[\d,]+$/.exec(label)![0].replace(',', ''));
    expect(await page.$eval('.grid', (grid) => grid.getAttribute('aria-rowcount'))).toBe(String(shown + 1));
    await page.keyboard.press('Escape');
    await press('Show all rows');
    await page.waitForSelector(`.grid[aria-rowcount="${ROWS + 1}"]`);
  });

  it('replaces one finish by another in what is selected, after saying what changes', async () => {
    await selectCell(page, 1, 'Part 06');
    await pressWith('Control', ' ');
    await press('Replace a finish');
    await see(`In ${ROWS.toLocaleString('en')} rows × 1 column`);
    await page.waitForFunction(() => /\d cells in [\d,]+ rows would change/.test(document.body.textContent));
    expect(await hasViolations()).toEqual([]);
    const words = await page.$eval('.replace-panel button.main', (button) => button.textContent.trim());
    await press(words);
    await see(`in ${words.replace('Replace ', '')}.`);
    await pressWith('Control', 'z');
    await page.waitForSelector('button[title="Redo: replaced finish"]');
  });
});

describe('edits that are not saved', () => {
  it('survive a reload', async () => {
    await press('Discard changes');
    await writeCell(page, 5, 'Name', 'Not saved yet');
    await see('Not saved: 1 row changed.');
    await page.reload();
    await see('Your edits of an earlier visit are back. Not saved: 1 row changed.');
    await selectCell(page, 5, 'Name');
    expect(await readSelected()).toEqual(['Not saved yet']);
  });

  it('survive a service that is away, and are saved when it is back', async () => {
    await page.setOfflineMode(true);
    await pressWith('Control', 's');
    await see('The service does not answer. Your edits are kept in this browser');
    await page.setOfflineMode(false);
    await pressWith('Control', 's');
    await see('Saved, 2,000 variants.');
    expect((await getSchedule()).variants[4].name).toBe('Not saved yet');
  });

  it('are saved from inside a cell, and the focus stays in it', async () => {
    await selectCell(page, 6, 'Name');
    await page.keyboard.press('Enter');
    await page.locator('.grid [role="gridcell"] input').fill('Saved while typing');
    await pressWith('Control', 's');
    await see('Saved, 2,000 variants.');
    expect(await readCursor()).toEqual([6, FIRST_SLOT]);
    expect((await getSchedule()).variants[5].name).toBe('Saved while typing');
    await pressWith('Control', 'z');
    await see('Not saved: 1 row changed.');
    await pressWith('Control', 'z');
    await see('All changes are saved.');
    expect((await getSchedule()).variants[5].name).toBe('Variant 00006');
  });

  it('are undone on the service too, with a new save', async () => {
    await pressWith('Control', 'z');
    await see('Not saved: 1 row changed.');
    expect((await getSchedule()).variants[4].name).toBe('Variant 00005');
    await pressWith('Control', 'y');
    await see('All changes are saved.');
    expect((await getSchedule()).variants[4].name).toBe('Not saved yet');
  });

  it('meet those of someone else cell by cell', async () => {
    const slot = slots[0]!;
    await selectCell(page, 7, 'Part 01');
    await page.keyboard.type('coal');
    await page.keyboard.press('Enter');
    await writeCell(page, 8, 'Name', 'Mine');
    await putSchedule((row, at) =>
      at === 6 ? { ...row, name: 'Theirs too', choices: { ...row.choices, [slot]: 'brass-5' } } : row,
    );
    await pressWith('Control', 's');
    await see('1 cell differ');
    expect(await hasViolations()).toEqual([]);
    await press('All theirs');
    await press('Save this choice');
    await see('Saved, 2,000 variants.');
    const { variants } = await getSchedule();
    expect(variants[6]).toMatchObject({ name: 'Theirs too', choices: { [slot]: 'brass-5' } });
    expect(variants[7].name).toBe('Mine');
  });
});

describe('the schedule elsewhere', () => {
  it('is a list of cards in a narrow window', async () => {
    await page.setViewport({ width: 390, height: 800 });
    await page.waitForSelector('.card');
    expect(await page.$$eval('.card', (cards) => cards.length)).toBeLessThan(30);
    expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(390);
    await page.locator('.card .card-cell').click();
    await page.waitForSelector('.offers [aria-selected="true"]');
    expect(await hasViolations()).toEqual([]);
    await page.keyboard.press('Escape');
    await page.waitForFunction(() => document.activeElement?.matches('.card .card-cell'));
    // what the grid goes to comes into sight
    await page.locator('#schedule-find').fill('Variant 01500');
    await page.keyboard.press('Enter');
    await page.waitForFunction(() => {
      const list = document.querySelector('.cards')!.getBoundingClientRect();
      const card = document.querySelector('.card[aria-posinset="1500"]')?.getBoundingClientRect();
      return card !== undefined && card.top >= list.top - 1 && card.top < list.bottom;
    });
    await page.setViewport({ width: 1280, height: 900 });
    await page.waitForSelector('.grid [role="gridcell"]');
  });

  it('prints every row', async () => {
    await page.emulateMediaType('print');
    await page.waitForFunction((rows) => document.querySelectorAll('.print-only tbody tr').length === rows, {}, ROWS);
    await page.emulateMediaType('screen');
    await page.waitForFunction(() => document.querySelector('.print-only tbody') === null);
  });

  it('runs without a fault', () => {
    expect(faults).toEqual([]);
  });
});
