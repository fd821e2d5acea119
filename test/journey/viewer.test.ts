import { readdirSync } from 'node:fs';
import { readFile } from 'node:fs/promises';
import { createServer, type Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import { join } from 'node:path';
import { converter, differenceCiede2000 } from 'culori';
import type { Browser, Page } from 'puppeteer-core';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { BUILT } from '../../server/root.ts';
import { listAxeViolations } from '../support/check-axe.ts';
import { openGlBrowser } from '../support/open-view.ts';
import { startService, type TestService } from '../support/start-service.ts';

// The viewer on a shop's page: three lines of markup on a plain static server, whose policy is `default-src 'self'` (Content
// Security Policy Level 3). The file is the demo's delivery. Keyboard and roles of radio groups: WAI-ARIA Authoring Practices 1.2.

let service: TestService;
let shop: Server;
let browser: Browser;
let page: Page;
let address: string;
const files = new Map<string, { readonly body: Buffer | string; readonly type: string }>();
const faults: string[] = [];
const asked: string[] = [];
let manifest: {
  default: string;
  variants: { code: string; name: string; choices: Record<string, string> }[];
  finishes: { finish: string; name: string }[];
};

const MARKUP = `<!doctype html><html lang="en"><title>Shop</title><main><h1>Stool</h1>
<script type="module" src="/viewer/dyeworks-viewer.js"></script>
<dyeworks-viewer src="/model.glb" poster="/poster.png" ATTRIBUTES></dyeworks-viewer></main>`;

beforeAll(async () => {
  service = await startService({ DYEWORKS_DEMO: 'on' });
  await service.filled;
  const { status, body } = await service.call('POST', '/api/products/QM-S45/deliveries', {});
  expect(status).toBe(201);
  const model = await fetch(service.url + body.model);
  files.set('/model.glb', { body: Buffer.from(await model.arrayBuffer()), type: 'model/gltf-binary' });
  manifest = (await service.call('GET', body.manifest)).body;
  files.set('/manifest.json', { body: JSON.stringify(manifest), type: 'application/json' });
  const poster = sharp({ create: { width: 40, height: 30, channels: 3, background: '#ddd6c9' } });
  files.set('/poster.png', { body: await poster.png().toBuffer(), type: 'image/png' });
  files.set('/favicon.ico', { body: '', type: 'image/x-icon' });
  files.set('/alone.html', { body: MARKUP.replace('ATTRIBUTES', ''), type: 'text/html' });
  files.set('/positions.html', { body: MARKUP.replace('ATTRIBUTES', 'manifest="/manifest.json"'), type: 'text/html' });
  files.set('/missing.html', { body: MARKUP.replace('/model.glb', '/none.glb'), type: 'text/html' });
  const folder = join(BUILT, 'viewer');
  for (const name of readdirSync(folder, { recursive: true, encoding: 'utf8' }).filter((path) =>
    /\.(?:js|wasm)$/.test(path),
  )) {
    files.set(`/viewer/${name}`, { body: await readFile(join(folder, name)), type: 'text/javascript' });
  }
  shop = createServer(({ url = '' }, answer) => {
    asked.push(url);
    const file = files.get(url);
    answer.setHeader('content-security-policy', "default-src 'self'");
    if (!file) return answer.writeHead(404).end();
    answer.writeHead(200, { 'content-type': file.type }).end(file.body);
  });
  await new Promise<void>((resolve) => shop.listen(0, '127.0.0.1', resolve));
  address = `http://127.0.0.1:${(shop.address() as AddressInfo).port}`;
  browser = await openGlBrowser();
});

afterAll(async () => {
  await browser?.close();
  shop?.close();
  await service?.close();
});

async function open(path: string): Promise<void> {
  await page?.close();
  page = await browser.newPage();
  await page.setViewport({ width: 900, height: 900 });
  page.on('pageerror', (error) => faults.push(String(error)));
  page.on('console', (message) => {
    if (message.type() === 'error') faults.push(message.text());
  });
  await page.evaluateOnNewDocument(() => {
    const told: { type: string; detail: unknown }[] = [];
    Object.assign(globalThis, { told });
    for (const type of ['load', 'error', 'variantchange']) {
      document.addEventListener(
        type,
        (event) => {
          if (event.target instanceof HTMLElement && event.target.localName === 'dyeworks-viewer')
            told.push({ type, detail: (event as CustomEvent).detail });
        },
        true,
      );
    }
  });
  await page.goto(address + path);
}

/** Waits for an event of the viewer, and returns its details. */
async function hear(type: string): Promise<unknown[]> {
  await page.waitForFunction(
    (wanted) => (globalThis as unknown as { told: { type: string }[] }).told.some((each) => each.type === wanted),
    { timeout: 90_000 },
    type,
  );
  return page.evaluate(
    (wanted) =>
      (globalThis as unknown as { told: { type: string; detail: unknown }[] }).told
        .filter((each) => each.type === wanted)
        .map(({ detail }) => detail),
    type,
  );
}

const viewer = () => page.$('dyeworks-viewer').then((found) => found!);
const read = <T>(
  work: (element: HTMLElement & { variant: string | null; variants: unknown[]; choices: object }) => T,
) => viewer().then((element) => element.evaluate(work as never) as Promise<T>);
const radios = () =>
  read((element) =>
    [...element.shadowRoot!.querySelectorAll('input')].map((input) => ({
      group: input.closest('fieldset')!.querySelector('legend')!.textContent!,
      name: input.parentElement!.querySelector('bdi')!.textContent!,
      checked: input.checked,
    })),
  );
const heard = () => read((element) => element.shadowRoot!.querySelector('.heard')!.textContent);

async function shootCanvas(): Promise<Uint8Array> {
  const canvas = await page.evaluateHandle(
    () => document.querySelector('dyeworks-viewer')!.shadowRoot!.querySelector('canvas')!,
  );
  return canvas.screenshot();
}

/** Places on the stool, as shares of the box around what is not background: the side of its seat, and its front leg. */
const PLACES = [
  [0.5, 0.17],
  [0.59, 0.7],
] as const;
const PATCH = 0.02;

/** Mean colours of places on the stool, CIE L*a*b* by culori 4. */
async function readPatches(image: Uint8Array) {
  const { data, info } = await sharp(image)
    .flatten({ background: '#ffffff' })
    .raw()
    .toBuffer({ resolveWithObject: true });
  const { width, height, channels } = info;
  const at = (x: number, y: number) => [0, 1, 2].map((c) => data[(y * width + x) * channels + c]! / 255);
  // colourful pixels: paper and shadow are grey
  let [left, top, endX, endY] = [width, height, 0, 0];
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const rgb = at(x, y);
      if (Math.max(...rgb) - Math.min(...rgb) < 0.12) continue;
      [left, top, endX, endY] = [Math.min(left, x), Math.min(top, y), Math.max(endX, x), Math.max(endY, y)];
    }
  }
  const [w, h] = [endX - left, endY - top];
  return PLACES.map(([right, down]) => {
    const sum = [0, 0, 0];
    let count = 0;
    const [x0, y0, half] = [left + right * w, top + down * h, Math.max(2, PATCH * w)];
    for (let y = Math.round(y0 - half); y <= y0 + half; y++) {
      for (let x = Math.round(x0 - half); x <= x0 + half; x++) {
        for (const [c, value] of at(x, y).entries()) sum[c]! += value;
        count++;
      }
    }
    const [r, g, b] = sum.map((value) => value / count) as [number, number, number];
    return lab65({ mode: 'rgb', r, g, b })!;
  });
}

const lab65 = converter('lab65');
const distance = differenceCiede2000();

describe('a page with the file alone', () => {
  it('offers every variant by its name, before the product is drawn', async () => {
    await open('/alone.html');
    await page.waitForFunction(
      () => document.querySelector('dyeworks-viewer')!.shadowRoot!.querySelectorAll('input').length > 0,
    );
    expect((await radios()).map(({ name }) => name)).toEqual(manifest.variants.map(({ name }) => name));
    await hear('load');
    expect(faults).toEqual([]);
  });

  it('draws each of them, and tells the page', { timeout: 240_000 }, async () => {
    const seen: number[][] = [];
    /** Mean codes of the channels. Refining a picture changes them by less than half a code, another finish by more than one. */
    const measure = async () => (await sharp(await shootCanvas()).stats()).channels.map(({ mean }) => mean);
    const differs = (a: readonly number[], b: readonly number[]) =>
      a.some((mean, channel) => Math.abs(mean - b[channel]!) > 0.7);
    for (const { name } of manifest.variants) {
      await (await viewer()).evaluate((element, wanted) => Object.assign(element, { variant: wanted }), name);
      expect(await read((element) => element.variant)).toBe(name);
      let now: number[] = [];
      await expect
        .poll(
          async () => {
            now = await measure();
            return seen.every((earlier) => differs(now, earlier));
          },
          { timeout: 60_000 },
        )
        .toBe(true);
      seen.push(now);
    }
    expect(await hear('variantchange')).toHaveLength(manifest.variants.length - 1);
  });

  it('asks for nothing but its own files', () => {
    const own = asked.filter((path) => !path.startsWith('/viewer/'));
    expect(new Set(own)).toEqual(new Set(['/alone.html', '/model.glb', '/poster.png', '/favicon.ico']));
    expect(asked.some((path) => /draco|basis|meshopt|KTX2/i.test(path))).toBe(false);
  });
});

describe('a page with the manifest', () => {
  it('offers finishes by position, and says aloud what is chosen', async () => {
    await open('/positions.html');
    await hear('load');
    const shown = await radios();
    const seats = new Set(manifest.variants.map(({ choices }) => choices.seat));
    const groups = new Set(shown.map(({ group }) => group));
    expect(shown.filter(({ group }) => group === 'Seat')).toHaveLength(seats.size);
    const first = manifest.variants.find(({ code }) => code === manifest.default)!;
    expect(await read((element) => element.choices)).toMatchObject({ seat: first.choices.seat });
    expect(shown.filter(({ checked }) => checked).length).toBe(groups.size);
  });

  it('is used by the keyboard alone', async () => {
    await page.evaluate(() =>
      document.querySelector('dyeworks-viewer')!.shadowRoot!.querySelector<HTMLInputElement>('input:checked')!.focus(),
    );
    await page.keyboard.press('ArrowDown');
    await expect.poll(heard).not.toBe('');
    const { seat } = (await read((element) => element.choices)) as { seat: string };
    const name = manifest.finishes.find(({ finish }) => finish === seat)!.name;
    expect(await heard()).toContain(name);
  });

  it('changes with a choice what the rules of the line demand, and says so', async () => {
    // a leather seat has piping of the same leather
    await read((element) =>
      [...element.shadowRoot!.querySelectorAll('input')].find((input) => input.value === 'HLT-422')!.click(),
    );
    expect(await read((element) => element.choices)).toMatchObject({ seat: 'HLT-422', piping: 'HLT-422' });
    expect(await heard()).toMatch(
      /^Seat: Inkwell hide\. This also changes Piping, button and stitching: Inkwell hide\.$/,
    );
    await expect(
      read((element) => Object.assign(element, { choices: { seat: 'HLT-410', piping: 'FEL-124' } }).choices),
    ).rejects.toThrow(/not made/);
  });

  it('has the light and the colours of the service’s pictures, within ΔE00 2', { timeout: 240_000 }, async () => {
    await read((element) => element.style.setProperty('--dyeworks-ratio', '1'));
    for (const { code, name } of manifest.variants.slice(0, 3)) {
      await read((element) => element.scrollIntoView());
      await (await viewer()).evaluate((element, wanted) => Object.assign(element, { variant: wanted }), name);
      const answer = await fetch(`${service.url}/api/products/QM-S45/pictures/${code}.png?size=512&ground=white`);
      const theirs = await readPatches(new Uint8Array(await answer.arrayBuffer()));
      // the picture in the viewer is refined for some seconds
      await expect
        .poll(
          async () => {
            const own = await readPatches(await shootCanvas());
            return Math.max(...own.map((lab, at) => distance(lab as never, theirs[at] as never)));
          },
          { timeout: 60_000, interval: 1000 },
        )
        .toBeLessThan(2);
    }
  });

  it('has no fault that axe finds', async () => {
    expect(await listAxeViolations(page)).toEqual([]);
  });
});

it('says that a file is missing, and keeps the picture', async () => {
  await open('/missing.html');
  await hear('error');
  expect(await read((element) => element.shadowRoot!.querySelector('.note')!.textContent)).toMatch(/cannot be loaded/);
  expect(await read((element) => element.shadowRoot!.querySelector('img')!.hidden)).toBe(false);
});
