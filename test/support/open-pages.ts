import { type BrowserContext, launch, type Page } from 'puppeteer-core';
import { findBrowser, findBuilt, NO_SANDBOX } from '../renderer/built-studio.ts';
import { once } from './once.ts';

/** A browser without WebGL that all test files of a worker share. It ends with the process. */
export const openTestBrowser = once(() =>
  launch({
    executablePath: findBrowser(),
    args: [
      ...(NO_SANDBOX ? ['--no-sandbox'] : []),
      '--disable-3d-apis',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
      '--no-first-run',
    ],
  }),
);

/**
 * The built pages in a real browser. Pictures are refused and WebGL is switched off: page tests need neither, and both
 * take machine time.
 * @param faults receives the errors that a page throws
 */
export async function openPages(faults: string[]): Promise<{ readonly browser: BrowserContext; readonly page: Page }> {
  if (findBuilt('web', ['web', 'renderer/page', 'server/core', 'package-lock.json']) === null) {
    throw new Error('The pages are not built from their newest sources. Run npm run build.');
  }
  const browser = await (await openTestBrowser()).createBrowserContext();
  const page = await browser.newPage();
  await page.setViewport({ width: 1280, height: 900 });
  page.on('pageerror', (error) => faults.push(String(error)));
  await page.setRequestInterception(true);
  page.on('request', (request) => {
    const isPicture = /\/(pictures\/|picture\.|swatch\.)/.test(request.url());
    void (isPicture ? request.respond({ status: 404, body: '' }) : request.continue());
  });
  return { browser, page };
}
