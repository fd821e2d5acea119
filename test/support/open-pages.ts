import { existsSync } from 'node:fs';
import { type Browser, type BrowserContext, launch, type Page } from 'puppeteer-core';
import { findBrowser } from '../../server/find-browser.mjs';

let shared: Promise<Browser> | undefined;

/** A browser without WebGL that all test files of a worker share; it ends with the process. */
export function openTestBrowser(): Promise<Browser> {
  shared ??= launch({
    executablePath: findBrowser(process.env.DYEWORKS_BROWSER) ?? undefined,
    args: [
      ...(process.getuid?.() === 0 ? ['--no-sandbox'] : []),
      '--disable-3d-apis',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
      '--no-first-run',
    ],
  });
  return shared;
}

/**
 * The built pages in a real browser. Pictures are refused and WebGL is switched off: page tests need neither, and both
 * take machine time.
 * @param faults receives the errors that a page throws
 */
export async function openPages(faults: string[]): Promise<{ readonly browser: BrowserContext; readonly page: Page }> {
  if (!existsSync(new URL('../../.build/web/index.html', import.meta.url))) {
    throw new Error('The pages are not built: run npm run build.');
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
