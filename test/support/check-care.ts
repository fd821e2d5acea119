import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Page } from 'puppeteer-core';
import { ROOT } from '../../server/root.ts';
import { once } from './once.ts';

interface AxeResults {
  readonly violations: readonly {
    readonly id: string;
    readonly help: string;
    readonly nodes: readonly { readonly html: string; readonly target: readonly unknown[] }[];
  }[];
}

declare const axe: { run(context: Document, options: object): Promise<AxeResults> };

const readAxe = once(async () => readFileSync(join(ROOT, 'node_modules/axe-core/axe.min.js'), 'utf8'));

/** Each screen that the pages promise to work on: width and height in CSS px, and the colour scheme. */
const SCREENS = [
  ['light', 1440, 900],
  ['dark', 1440, 900],
  // a phone
  ['light', 390, 844],
  // 1280 × 800 px at a zoom of 200 %
  ['light', 640, 400],
] as const;

/**
 * What is wrong with the page as it is now, on each screen: rules of axe-core (MPL-2.0), targets below 24 px (WCAG 2.2, 2.5.8)
 * included, and a page that scrolls sideways (WCAG 2.2, 1.4.10). Leaves the page on a wide, light screen.
 */
export async function listCareFaults(page: Page): Promise<string[]> {
  const faults: string[] = [];
  await page.evaluate(await readAxe());
  for (const [scheme, width, height] of [...SCREENS, SCREENS[0]]) {
    await page.setViewport({ width, height });
    await page.emulateMediaFeatures([
      { name: 'prefers-color-scheme', value: scheme },
      { name: 'prefers-reduced-motion', value: 'reduce' },
    ]);
    const { violations } = await page.evaluate(() =>
      axe.run(document, { rules: { 'target-size': { enabled: true } }, resultTypes: ['violations'] }),
    );
    const where = `${scheme}, ${width} px`;
    for (const { id, nodes } of violations) {
      faults.push(...nodes.map(({ html, target }) => `${where}: ${id}: ${target.join(' ')}: ${html.slice(0, 160)}`));
    }
    const over = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
    if (over > 0) faults.push(`${where}: the page is ${over} px too wide`);
  }
  return faults;
}
