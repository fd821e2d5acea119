import type { Page } from 'puppeteer-core';

/** What the focused element is called: its label, its own text, or that of the label around it. */
export function readFocus(page: Page): Promise<string> {
  return page.evaluate(() => {
    const element = document.activeElement;
    if (!element || element === document.body) return '';
    const label = element.getAttribute('aria-label') ?? element.closest('label')?.querySelector('span')?.textContent;
    return (label ?? element.textContent ?? '').replace(/\s+/g, ' ').trim();
  });
}

/** Presses Tab until an element with this name has the focus. Rejects where none comes, as a person would give up. */
export async function tabTo(page: Page, name: string | RegExp, most = 150): Promise<void> {
  const passed: string[] = [];
  for (let presses = 0; presses < most; presses++) {
    await page.keyboard.press('Tab');
    const now = await readFocus(page);
    if (typeof name === 'string' ? now === name : name.test(now)) return;
    passed.push(now);
  }
  throw new Error(`No “${name}” after ${most} presses of Tab: ${passed.join(' | ')}`);
}
