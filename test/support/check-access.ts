import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import type { Page } from 'puppeteer-core';

const SOURCE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

/**
 * The violations that axe-core finds on a page as it stands: WCAG 2.2 level A and AA, and best practices.
 * @returns one line for each: the rule, and the first elements
 */
export async function findViolations(page: Page): Promise<string[]> {
  if (!(await page.evaluate(() => 'axe' in window))) await page.evaluate(SOURCE);
  return page.evaluate(async () => {
    type Axe = { run(): Promise<{ violations: { id: string; nodes: { html: string }[] }[] }> };
    const { violations } = await (window as unknown as { axe: Axe }).axe.run();
    return violations.map(({ id, nodes }) => {
      const found = nodes.map(({ html }) => html.slice(0, 160));
      return `${id} (${nodes.length}): ${found.slice(0, 4).join('  ')}`;
    });
  });
}
