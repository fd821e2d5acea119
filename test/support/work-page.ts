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

/** Waits until the text is somewhere on the page. */
export async function seeText(page: Page, text: string, timeoutMs = 30_000): Promise<void> {
  await page.waitForFunction((wanted) => document.body.textContent.includes(wanted), { timeout: timeoutMs }, text);
}
