import { readdirSync } from 'node:fs';
import { readFile } from 'node:fs/promises';
import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import { join } from 'node:path';
import type { Browser, Page } from 'puppeteer-core';
import { BUILT } from '../../server/root.ts';

/** The policy of a strict shop. */
export const SELF = "default-src 'self'";

export type Viewer = HTMLElement & {
  variant: string | null;
  variants: { name: string }[];
  choices: Record<string, string>;
};

/** A plain static server with the built viewer and some files, and a browser that opens its pages. */
export async function openShop(browser: Browser, given: Readonly<Record<string, Uint8Array | string>>) {
  const files = new Map<string, Uint8Array | string>(Object.entries(given));
  const folder = join(BUILT, 'viewer');
  for (const name of readdirSync(folder, { recursive: true, encoding: 'utf8' })) {
    if (/\.(?:js|wasm)$/.test(name)) files.set(`/viewer/${name}`, await readFile(join(folder, name)));
  }
  files.set('/favicon.ico', '');
  const asked: string[] = [];
  const faults: string[] = [];
  let policy = SELF;
  let page: Page | undefined;
  const server = createServer(({ url = '' }, answer) => {
    asked.push(url);
    const file = files.get(url);
    answer.setHeader('content-security-policy', policy);
    if (file === undefined) return answer.writeHead(404).end();
    answer.writeHead(200, { 'content-type': TYPES[url.split('.').at(-1)!] ?? 'application/octet-stream' }).end(file);
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  const address = `http://127.0.0.1:${(server.address() as AddressInfo).port}`;

  return {
    asked,
    faults,
    address,
    /** Opens a page with the three lines of markup. */
    async show(
      attributes: string,
      options: { policy?: string; before?: (page: Page) => Promise<unknown>; dir?: string } = {},
    ) {
      policy = options.policy ?? SELF;
      asked.length = 0;
      faults.length = 0;
      files.set(
        '/page.html',
        `<!doctype html><html lang="en" dir="${options.dir ?? 'ltr'}"><title>Shop</title><main><h1>Stool</h1>
<script type="module" src="/viewer/dyeworks-viewer.js"></script>
<dyeworks-viewer ${attributes}></dyeworks-viewer></main>`,
      );
      await page?.close();
      page = await browser.newPage();
      await page.setViewport({ width: 600, height: 700 });
      page.on('pageerror', (error) => faults.push(String(error)));
      page.on('console', (message) => {
        if (['error', 'warn'].includes(message.type())) faults.push(message.text());
      });
      // a helper that tsx puts into functions
      await page.evaluateOnNewDocument('globalThis.__name = (own) => own');
      await page.evaluateOnNewDocument(recordEvents);
      await options.before?.(page);
      await page.goto(`${address}/page.html`);
      return page;
    },
    /** Waits for an event of the viewer, and returns its details so far. */
    async hear(type: string): Promise<unknown[]> {
      const isTold = (wanted: string) =>
        (globalThis as unknown as { told: { type: string }[] }).told.some((each) => each.type === wanted);
      await page!.waitForFunction(isTold, { timeout: 90_000 }, type);
      const told = await page!.evaluate(
        () => (globalThis as unknown as { told: { type: string; detail: unknown }[] }).told,
      );
      return told.filter((each) => each.type === type).map(({ detail }) => detail);
    },
    read: <T>(work: (element: Viewer) => T | Promise<T>): Promise<T> =>
      page!.$eval('dyeworks-viewer', work as never) as Promise<T>,
    /** Shows a variant. */
    take: (variant: string): Promise<unknown> =>
      page!.$eval('dyeworks-viewer', (element, wanted) => Object.assign(element, { variant: wanted }) && null, variant),
    async shoot(): Promise<Uint8Array> {
      const canvas = await page!.evaluateHandle(
        () => document.querySelector('dyeworks-viewer')!.shadowRoot!.querySelector('canvas')!,
      );
      return canvas.screenshot();
    },
    async close() {
      await page?.close();
      server.close();
    },
  };
}

export type Shop = Awaited<ReturnType<typeof openShop>>;

const TYPES: Readonly<Record<string, string>> = {
  html: 'text/html',
  js: 'text/javascript',
  wasm: 'application/wasm',
  json: 'application/json',
  glb: 'model/gltf-binary',
  png: 'image/png',
  ico: 'image/x-icon',
};

function recordEvents(): void {
  const told: { type: string; detail: unknown }[] = [];
  Object.assign(globalThis, { told });
  for (const type of ['load', 'error', 'progress', 'variantchange']) {
    const record = (event: Event) => {
      if (event.target instanceof HTMLElement && event.target.localName === 'dyeworks-viewer')
        told.push({ type, detail: (event as CustomEvent).detail });
    };
    document.addEventListener(type, record, true);
  }
}
