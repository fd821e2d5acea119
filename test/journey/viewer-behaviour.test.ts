import type { Browser, Page } from 'puppeteer-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { addTexture } from '../support/build-model.ts';
import { listAxeViolations } from '../support/check-axe.ts';
import { createIo } from '../support/gltf-io.ts';
import { createStool } from '../support/model-with-variants.ts';
import { openGlBrowser } from '../support/open-view.ts';
import { openShop, type Shop } from '../support/shop-page.ts';

// How the viewer behaves for people and for the page around it. `touch-action`: Pointer Events 3. Targets of at least 24 px: WCAG 2.2
// §2.5.8. `rel="ar"` is a stand-in: no browser here knows it.

let browser: Browser;
let shop: Shop;
let page: Page;

beforeAll(async () => {
  const io = await createIo();
  const document = await io.readBinary(await createStool(['One', 'Two', 'Three']));
  const wood = document
    .getRoot()
    .listMaterials()
    .find((material) => material.getName() === 'Smoked oak')!;
  wood.setBaseColorTexture(await addTexture(document, 'smoke', 9));
  browser = await openGlBrowser();
  shop = await openShop(browser, { '/model.glb': await io.writeBinary(document), '/text.glb': 'not a model' });
});
afterAll(async () => {
  await shop?.close();
  await browser?.close();
});

interface Work {
  decodes: number;
  uploads: number;
  draws: number;
}

/** Counts images decoded, images uploaded, and calls that draw. */
function countWork(): void {
  const work: Work = { decodes: 0, uploads: 0, draws: 0 };
  Object.assign(globalThis, { work });
  const decode = globalThis.createImageBitmap;
  globalThis.createImageBitmap = ((...given: Parameters<typeof decode>) => {
    work.decodes++;
    return decode(...given);
  }) as typeof decode;
  const gl = WebGL2RenderingContext.prototype as unknown as Record<string, (...given: unknown[]) => unknown>;
  for (const name of ['texImage2D', 'texSubImage2D', 'drawElements', 'drawArrays']) {
    const own = gl[name]!;
    gl[name] = function (...given: unknown[]) {
      if (name.startsWith('draw')) work.draws++;
      else if (given.at(-1) instanceof ImageBitmap) work.uploads++;
      return own.apply(this, given);
    };
  }
}
const work = () => page.evaluate(() => ({ ...(globalThis as unknown as { work: Work }).work }));

/** Until nothing more is drawn. */
async function settle(): Promise<void> {
  await page.waitForFunction(
    async () => {
      const { work } = globalThis as unknown as { work: Work };
      const before = work.draws;
      await new Promise((resolve) => setTimeout(resolve, 600));
      return work.draws > 0 && work.draws === before;
    },
    { timeout: 90_000 },
  );
}

it('decodes and uploads only what a variant needs, and a known variant in one frame', {
  timeout: 240_000,
}, async () => {
  page = await shop.show('src="/model.glb"', { before: (next) => next.evaluateOnNewDocument(countWork) });
  await shop.hear('load');
  // weave, seams, grain and print; the smoke is of another variant
  expect((await work()).decodes).toBe(4);
  await settle();
  await shop.take('Two');
  await settle();
  expect((await work()).decodes).toBe(5);
  await shop.take('One');
  await settle();
  const before = await work();
  const drawn = await page.$eval('dyeworks-viewer', async (element) => {
    const { work } = globalThis as unknown as { work: Work };
    const begun = work.draws;
    Object.assign(element, { variant: 'Two' });
    // the first callback of a frame comes before the viewer's own
    for (const _ of [1, 2]) await new Promise(requestAnimationFrame);
    return work.draws - begun;
  });
  expect(drawn).toBeGreaterThan(0);
  const { decodes, uploads } = await work();
  expect({ decodes, uploads }).toEqual({ decodes: before.decodes, uploads: before.uploads });
});

describe('for people', () => {
  it('is turned and enlarged by the keyboard, and by the wheel only when it has the focus', async () => {
    const draws = async (act: () => Promise<unknown>) => {
      const before = (await work()).draws;
      await act();
      await page.evaluate(() => new Promise((resolve) => setTimeout(resolve, 400)));
      return (await work()).draws - before;
    };
    await settle();
    const canvas = await page.evaluateHandle(
      () => document.querySelector('dyeworks-viewer')!.shadowRoot!.querySelector('canvas')!,
    );
    await page.evaluate(() => (document.activeElement as HTMLElement | null)?.blur());
    await canvas.hover();
    await settle();
    expect(await draws(() => page.mouse.wheel({ deltaY: 100 }))).toBe(0);
    await canvas.focus();
    expect(await draws(() => page.mouse.wheel({ deltaY: 100 }))).toBeGreaterThan(0);
    await settle();
    for (const key of ['ArrowLeft', '+', 'Home'] as const) {
      expect(await draws(() => page.keyboard.press(key)), key).toBeGreaterThan(0);
      await settle();
    }
  });

  it('lets a finger scroll the page', async () => {
    const action = () =>
      shop.read((element) => getComputedStyle(element.shadowRoot!.querySelector('canvas')!).touchAction);
    expect(await action()).toBe('pan-y');
  });

  it('has targets of 24 px, and says what is chosen', async () => {
    const small = await shop.read((element) =>
      [...element.shadowRoot!.querySelectorAll('button, label')]
        .filter((target) => target.getBoundingClientRect().height < 24 || target.getBoundingClientRect().width < 24)
        .map((target) => target.textContent),
    );
    expect(small).toEqual([]);
    await shop.read((element) => element.shadowRoot!.querySelectorAll('input')[2]!.click());
    expect(await shop.read((element) => element.shadowRoot!.querySelector('.heard')!.textContent)).toBe(
      'Variants: Three',
    );
  });

  it('shows its frame in full screen', async () => {
    const asked = await shop.read(async (element) => {
      const frame = element.shadowRoot!.querySelector('.frame')!;
      let count = 0;
      frame.requestFullscreen = async () => {
        count++;
      };
      const button = [...element.shadowRoot!.querySelectorAll('button')].find(
        ({ textContent }) => textContent === 'Full screen',
      );
      button!.click();
      return count;
    });
    expect(asked).toBe(1);
  });

  it('takes other texts, and keeps those that are not given', async () => {
    const shown = await shop.read((element) => {
      Object.assign(element, { texts: { variants: 'Varianten', enlarge: 'Vergrößern' } });
      const { shadowRoot } = element;
      return [shadowRoot!.querySelector('legend')!, ...shadowRoot!.querySelectorAll('button')].map(
        ({ textContent }) => textContent,
      );
    });
    expect(shown).toEqual(['Varianten', 'Vergrößern', 'Reduce', 'Show whole product', 'Full screen']);
  });

  it('runs from right to left, and has no fault that axe finds', async () => {
    page = await shop.show('src="/model.glb"', { dir: 'rtl', before: (next) => next.evaluateOnNewDocument(countWork) });
    await shop.hear('load');
    const [input, name] = await shop.read((element) => {
      const label = element.shadowRoot!.querySelector('label')!;
      return [label.querySelector('input')!, label.querySelector('bdi')!].map((part) => part.getBoundingClientRect().x);
    });
    expect(input!).toBeGreaterThan(name!);
    expect(await listAxeViolations(page)).toEqual([]);
  });

  it('moves nothing by itself where motion is unwelcome', async () => {
    const transition = () =>
      shop.read((element) => getComputedStyle(element.shadowRoot!.querySelector('canvas')!).transitionDuration);
    expect(await transition()).toBe('0.24s');
    await page.emulateMediaFeatures([{ name: 'prefers-reduced-motion', value: 'reduce' }]);
    expect(await transition()).toBe('0s');
  });
});

describe('for the page around it', () => {
  it('has properties that follow their attributes, parts and custom properties', async () => {
    const seen = await shop.read((element) => {
      const each = element as unknown as Record<string, string | null>;
      const names = ['manifest', 'poster', 'usdz', 'alt'];
      const before = names.map((name) => each[name]);
      for (const name of names) each[name] = `/${name}`;
      const after = names.map((name) => element.getAttribute(name));
      for (const name of names) each[name] = null;
      element.style.setProperty('--dyeworks-ratio', '2 / 1');
      const sheet = new CSSStyleSheet();
      sheet.replaceSync('dyeworks-viewer::part(frame) { outline: 3px solid red }');
      document.adoptedStyleSheets = [sheet];
      const frame = element.shadowRoot!.querySelector('.frame')!;
      const { width, height } = frame.getBoundingClientRect();
      return {
        before,
        after,
        gone: names.some((name) => element.hasAttribute(name)),
        mount: each.mount,
        ratio: width / height,
        outline: getComputedStyle(frame).outlineWidth,
      };
    });
    expect(seen).toMatchObject({
      before: [null, null, null, null],
      after: ['/manifest', '/poster', '/usdz', '/alt'],
      gone: false,
      mount: 'floor',
      outline: '3px',
    });
    expect(seen.ratio).toBeCloseTo(2, 1);
  });

  it('tells how much of the file is there, and what went wrong', async () => {
    await shop.show('src="/model.glb"');
    await shop.hear('load');
    const told = (await shop.hear('progress')) as { loaded: number; total: number | null }[];
    expect(told.at(-1)!.loaded).toBeGreaterThan(1000);
    expect(told.every(({ loaded }, at) => at === 0 || loaded > told[at - 1]!.loaded)).toBe(true);
    await shop.show('src="/text.glb"');
    expect(await shop.hear('error')).toEqual([{ message: '/text.glb is no GLB' }]);
  });
});

describe('a device that shows USDZ in the room', () => {
  it('gets a link to the file of the variant; others get none', async () => {
    const links = () =>
      shop.read((element) =>
        [...element.shadowRoot!.querySelectorAll('a')].map(({ rel, children, href }) => [
          rel,
          (children[0] as HTMLImageElement).alt,
          new URL(href).pathname,
        ]),
      );
    await shop.show('src="/model.glb" usdz="/room.usdz"');
    await shop.hear('load');
    expect(await links()).toEqual([]);
    await shop.show('src="/model.glb" usdz="/room.usdz"', {
      before: (next) =>
        next.evaluateOnNewDocument(() => {
          const { supports } = DOMTokenList.prototype;
          DOMTokenList.prototype.supports = function (word) {
            return word === 'ar' || supports.call(this, word);
          };
        }),
    });
    await shop.hear('load');
    await expect.poll(links).toEqual([['ar', 'View in your room', '/room.usdz']]);
  });
});
