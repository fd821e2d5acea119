import type { ElementHandle, Page } from 'puppeteer-core';
import { tabTo } from './keyboard.ts';

/** A way to use the pages: the keyboard alone, a mouse, or a finger on a phone. */
export interface Hands {
  readonly name: string;
  /** The window, in CSS px. */
  readonly screen: { readonly width: number; readonly height: number; readonly touch: boolean };
  /** Presses a button or follows a link by its name. */
  press(page: Page, name: string | RegExp): Promise<void>;
  /** Goes into a field by its label, and types. */
  type(page: Page, label: string, text: string): Promise<void>;
  /** Gives a file to the page. The dialog in which a file is chosen belongs to the operating system. */
  giveFile(page: Page, path: string): Promise<void>;
}

export const KEYBOARD: Hands = {
  name: 'keyboard',
  screen: { width: 1280, height: 900, touch: false },
  async press(page, name) {
    await tabTo(page, name);
    await page.keyboard.press('Enter');
  },
  async type(page, label, text) {
    await tabTo(page, label);
    await page.keyboard.type(text);
  },
  async giveFile(page, path) {
    await tabTo(page, 'Choose a file');
    const field = (await page.waitForSelector('.drop input[type="file"]')) as ElementHandle<HTMLInputElement>;
    await field.uploadFile(path);
  },
};

export const MOUSE: Hands = {
  name: 'mouse',
  screen: { width: 1280, height: 900, touch: false },
  async press(page, name) {
    const { x, y } = await findInSight(page, name);
    await page.mouse.click(x, y);
  },
  async type(page, label, text) {
    await this.press(page, label);
    await page.keyboard.type(text);
  },
  /** Drags it over the page, and drops it. */
  async giveFile(page, path) {
    const area = (await page.waitForSelector('.drop'))!;
    const { x, y, width, height } = (await area.boundingBox())!;
    const target = { x: x + width / 2, y: y + height / 2 };
    const data = { items: [], files: [path], dragOperationsMask: 1 };
    await page.mouse.dragEnter(target, data);
    await page.mouse.dragOver(target, data);
    await page.waitForSelector('.drop.over');
    // a mouse that is held over a page goes on saying so
    await page.mouse.dragOver(target, data);
    await page.mouse.drop(target, data);
  },
};

export const FINGER: Hands = {
  name: 'touch',
  screen: { width: 390, height: 844, touch: true },
  async press(page, name) {
    const { x, y } = await findInSight(page, name);
    const client = await page.createCDPSession();
    const touch = (type: 'touchStart' | 'touchEnd', touchPoints: Place[]) =>
      client.send('Input.dispatchTouchEvent', { type, touchPoints });
    // at once: while a page draws, the answer to the first takes so long that the finger would count as one that stays
    await Promise.all([touch('touchStart', [{ x, y }]), touch('touchEnd', [])]);
    await client.detach();
  },
  async type(page, label, text) {
    await this.press(page, label);
    await page.keyboard.type(text);
  },
  async giveFile(page, path) {
    const [chooser] = await Promise.all([page.waitForFileChooser(), this.press(page, 'Choose a file')]);
    await chooser.accept([path]);
  },
};

/** Sets the window of a page for the hands. */
export async function takeInHand(page: Page, { screen: { width, height, touch } }: Hands): Promise<void> {
  await page.setViewport({ width, height, isMobile: touch, hasTouch: touch, deviceScaleFactor: 1 });
}

interface Place {
  readonly x: number;
  readonly y: number;
}

/**
 * Scrolls a control with this name into sight as a person does, and waits until it can be used there: it is enabled, stands
 * still, and nothing lies over it.
 * @returns a place on it, px of the window
 */
async function findInSight(page: Page, name: string | RegExp): Promise<Place> {
  const wanted = typeof name === 'string' ? { text: name } : { pattern: name.source };
  const seen = { at: '' };
  const memory = await page.evaluateHandle((empty) => empty, seen);
  const found = await page.waitForFunction(
    ({ text, pattern }: { text?: string; pattern?: string }, last: { at: string }): Place | null => {
      const trim = (words: string | null | undefined) => (words ?? '').replace(/\s+/g, ' ').trim();
      const isWanted = (words: string) => (pattern ? new RegExp(pattern).test(words) : words === text);
      const controls = document.querySelectorAll<HTMLElement>('a[href], button, input, select, textarea, summary');
      for (const control of controls) {
        const label = control.closest('label');
        const words = control.getAttribute('aria-label') ?? label?.querySelector('span')?.textContent;
        if (!isWanted(trim(words ?? control.textContent)) || control.matches(':disabled')) continue;
        if (!control.checkVisibility() || control.tabIndex < 0) continue;
        control.scrollIntoView({ block: 'center', behavior: 'instant' });
        const { left, top, width, height } = control.getClientRects()[0]!;
        const place = { x: left + width / 2, y: top + height / 2 };
        const over = document.elementFromPoint(place.x, place.y);
        if (!over || !(control.contains(over) || label?.contains(over))) continue;
        // a page that still moves would be pressed beside it
        const before = last.at;
        last.at = JSON.stringify(place);
        return last.at === before ? place : null;
      }
      return null;
    },
    { timeout: 60_000, polling: 150 },
    wanted,
    memory,
  );
  // a touch lands where the page was last drawn: on a slow machine this is before it was scrolled
  await page.evaluate(
    () =>
      document.hidden ||
      new Promise((resolve) => requestAnimationFrame(() => requestAnimationFrame(() => resolve(true)))),
  );
  return (await found.jsonValue()) as Place;
}
