import type { Page } from 'puppeteer-core';

/** Presses the button with these words. */
export async function pressButton(page: Page, words: string): Promise<void> {
  await page.locator(`::-p-xpath(//button[normalize-space()="${words}"])`).click();
}

/** Opens a sheet of the product's page by the link in its bar. */
export async function openSheet(page: Page, sheet: 'model' | 'parts' | 'schedule' | 'deliver'): Promise<void> {
  await page.locator(`.bench-sheets a[href$="/${sheet}"]`).click();
  await page.waitForSelector(`.bench-sheets a[href$="/${sheet}"][aria-current="page"]`);
}

/** Selects a cell of the schedule: a row from 1 in the order shown, and the label of a column. */
export async function selectCell(page: Page, row: number, column: string): Promise<void> {
  await page.waitForFunction(
    (wanted, at) => {
      const heads = [...document.querySelectorAll('.grid [role="columnheader"]')];
      const place = heads.findIndex((head) => head.textContent.startsWith(wanted));
      const cells = document.querySelectorAll(`.grid [aria-rowindex="${at + 1}"] > [role="gridcell"]`);
      const cell = cells[place];
      if (!cell) {
        // the rows in sight come with the scrolling
        const grid = document.querySelector('.grid');
        if (grid) grid.scrollTop = (at - 2) * 36;
        return false;
      }
      cell.dispatchEvent(new MouseEvent('mousedown', { bubbles: true }));
      return true;
    },
    {},
    column,
    row,
  );
  await page.waitForFunction(
    (at) => document.activeElement?.closest('[role="row"]')?.getAttribute('aria-rowindex') === String(at + 1),
    {},
    row,
  );
}

/** Writes into a text cell of the schedule. */
export async function writeCell(page: Page, row: number, column: string, text: string): Promise<void> {
  await selectCell(page, row, column);
  await page.keyboard.press('Enter');
  await page.locator('.grid [role="gridcell"] input').fill(text);
  await page.keyboard.press('Enter');
}

/** Waits until the text is somewhere on the page. */
export async function seeText(page: Page, text: string, timeoutMs = 30_000): Promise<void> {
  await page.waitForFunction((wanted) => document.body.textContent.includes(wanted), { timeout: timeoutMs }, text);
}

/** Types into the field with this name. */
export async function write(page: Page, field: string, text: string): Promise<void> {
  await page.locator(`::-p-xpath(//label[span[normalize-space()="${field}"]]//input)`).fill(text);
}
