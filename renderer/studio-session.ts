import type { Browser } from 'puppeteer-core';
import type { RendererFacts } from '../server/core/ports/renderer.ts';
import type { HoldLock } from './browser-profiles.ts';
import { withDeadline } from './deadline.ts';
import { classifyDriver, GL_WAYS } from './driver.ts';
import { type LaunchedBrowser, launchBrowser } from './launch-browser.ts';
import type { StudioFacts, StudioPage } from './page/main.ts';
import { openPageServer, type PageServer } from './page-server.ts';
import { type WatchOptions, watchWork } from './watch-browser.ts';

export interface SessionOptions {
  readonly browserPath: string;
  readonly studioFolder: string;
  readonly noSandbox: boolean;
  readonly launchTimeoutMs: number;
  readonly holdLock?: HoldLock;
}

/** A running browser with the studio open in it. After any fault it is replaced, not repaired. */
export interface StudioSession {
  readonly facts: RendererFacts;
  readonly details: StudioFacts;
  readonly server: PageServer;
  /** Process of the browser. */
  readonly pid: number | undefined;
  /** Becomes true when browser, page or GL context are lost. */
  isGone(): boolean;
  /** Calls the page. Rejects when the page is lost before it answers. */
  call<Name extends keyof StudioPage>(
    name: Name,
    ...values: Parameters<StudioPage[Name]>
  ): Promise<Awaited<ReturnType<StudioPage[Name]>>>;
  /**
   * Waits for work of the browser, as long as the browser does any.
   * @throws Frozen
   */
  watch<Result>(work: Promise<Result>, options?: WatchOptions): Promise<Result>;
  /** The browser, for work in a tab of its own. */
  readonly browser: Browser;
  /** Console messages of the page since the last call. */
  takeRemarks(): readonly string[];
  /** Reloads the page in the same browser, which frees its memory. */
  reload(): Promise<void>;
  /** `hung`: the page no longer answers, do not wait for it. */
  end(hung?: boolean): Promise<void>;
}

/** Most stored console messages: enough to find a cause, but not a log. */
const MAX_REMARKS = 20;

export async function openSession(options: SessionOptions): Promise<StudioSession> {
  const server = await openPageServer(options.studioFolder);
  const failures: unknown[] = [];
  for (const way of GL_WAYS) {
    let launched: LaunchedBrowser | undefined;
    try {
      launched = await launchBrowser({
        ...options,
        way,
        timeoutMs: options.launchTimeoutMs,
        host: new URL(server.origin).host,
      });
      return await enter(launched, server, options);
    } catch (error) {
      failures.push(error);
      await launched?.end();
    }
  }
  await server.close();
  throw new AggregateError(failures, `The studio did not open: ${failures.map(describe).join('; ')}`);
}

async function enter(launched: LaunchedBrowser, server: PageServer, options: SessionOptions): Promise<StudioSession> {
  const { browser, page } = launched;
  let gone = false;
  const lost: ((error: Error) => void)[] = [];
  const leave = (why: string) => {
    if (gone) return;
    gone = true;
    for (const reject of lost.splice(0)) reject(new Error(why));
  };
  browser.on('disconnected', () => leave('The browser ended.'));
  page.on('error', () => leave('The page crashed.'));
  const remarks: string[] = [];
  const remark = (text: string) => {
    if (remarks.length < MAX_REMARKS) remarks.push(text);
  };
  page.on('console', (message) => {
    if (message.type() === 'error' || message.type() === 'warn') remark(message.text());
  });
  page.on('pageerror', (error) => remark(describe(error)));

  const pid = browser.process()?.pid;
  // A value without a function, so that it also answers before the page's own scripts run.
  const ping = () => page.evaluate('0');
  const watch = <Result>(work: Promise<Result>, options?: WatchOptions) => watchWork(work, pid, { ping, ...options });
  const inTime = <Result>(work: Promise<Result>) => withDeadline(watch(work), options.launchTimeoutMs);

  async function load(): Promise<void> {
    await page.goto(server.pageUrl, { waitUntil: 'load', timeout: options.launchTimeoutMs });
    await page.waitForFunction('globalThis.studioPage || globalThis.studioFailure', {
      timeout: options.launchTimeoutMs,
      polling: 20,
    });
    const failure = (await page.evaluate('globalThis.studioFailure')) as string | undefined;
    if (failure) throw new Error(failure);
  }

  const call: StudioSession['call'] = (name, ...values) =>
    new Promise((resolve, reject) => {
      if (gone) return reject(new Error('The browser has ended.'));
      lost.push(reject);
      const done = () => lost.splice(lost.indexOf(reject), 1);
      page
        .evaluate(callInPage, name, values)
        .then(resolve as (value: unknown) => void, reject)
        .finally(done);
    });

  await inTime(load());
  const details = await inTime(call('getFacts'));
  return {
    facts: {
      browser: await inTime(browser.version()),
      gl: details.gl,
      driver: classifyDriver(details.gl),
      studio: details.studio,
    },
    details,
    server,
    browser,
    pid,
    watch,
    isGone: () => gone,
    call,
    takeRemarks: () => remarks.splice(0),
    reload: () => inTime(load()),
    async end(hung = false) {
      leave('The studio was closed.');
      await launched.end(hung);
      await server.close();
    },
  };
}

/** Runs in the page, so it must not refer to anything outside itself. */
function callInPage(method: string, values: readonly unknown[]): unknown {
  const page = globalThis.studioPage as unknown as Record<string, (...values: readonly unknown[]) => unknown>;
  return page[method]?.(...values);
}

export function describe(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}
