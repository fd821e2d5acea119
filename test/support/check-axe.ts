import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import type { Page } from 'puppeteer-core';
import { once } from './once.ts';

const readSource = once(async () =>
  readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8'),
);

const RULES = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];

interface Result {
  readonly violations: readonly {
    readonly id: string;
    readonly help: string;
    readonly nodes: readonly { readonly target: unknown }[];
  }[];
}

/**
 * What axe-core finds on a page by WCAG 2.2 A and AA and by its best practices, each with some of the elements. Empty is good.
 * @param within a selector, to leave out the rest of the page
 */
export async function listAxeViolations(page: Page, within = 'body'): Promise<string[]> {
  // as an expression of the debugger, which the page's policy does not forbid
  if (!(await page.evaluate(() => 'axe' in window))) await page.evaluate(await readSource());
  return page.evaluate(
    async (root, runOnly) => {
      // what fades in has its colours at the end only
      await Promise.allSettled(document.getAnimations().map(({ finished }) => finished));
      const { axe } = window as unknown as { axe: { run(at: string, options: object): Promise<Result> } };
      const { violations } = await axe.run(root, { runOnly });
      return violations.map(
        ({ id, help, nodes }) =>
          `${id}: ${help}: ${nodes
            .slice(0, 4)
            .map(({ target }) => String(target))
            .join(' | ')}`,
      );
    },
    within,
    RULES,
  );
}
