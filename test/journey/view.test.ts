import { Document } from '@gltf-transform/core';
import type { Browser, ElementHandle, Page } from 'puppeteer-core';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { createIo } from '../support/gltf-io.ts';
import { FINGER, MOUSE, takeInHand } from '../support/hands.ts';
import { addSolid, makeCube } from '../support/make-solid.ts';
import { openPages } from '../support/open-pages.ts';
import { openGlBrowser, readDimension } from '../support/open-view.ts';
import { startService, type TestService } from '../support/start-service.ts';
import { pressButton, seeText } from '../support/work-page.ts';

// The view of a product in a browser with WebGL: three cubes of 0.2 m in a row one metre wide, the outer ones alike. From the
// front, the middle of the left one is a tenth of the width from the left.

const PATH = '/api/products/CUBES';
const BODY = '#2f5d73';
let service: TestService;
let browser: Browser;
let page: Page;
let stage: ElementHandle;
const faults: string[] = [];

async function makeCubes(): Promise<Uint8Array> {
  const document = new Document();
  const [cheeks, body] = ['Cheeks', 'Body'].map((name) => document.createMaterial(name).setRoughnessFactor(1));
  for (const [name, x, material] of [
    ['left', -0.5, cheeks],
    ['right', 0.3, cheeks],
    ['middle', -0.1, body],
  ] as const) {
    addSolid(document, name, makeCube(0.2), material!).setTranslation([x, 0, -0.1]);
  }
  return (await createIo()).writeBinary(document);
}

/** Two cubes that are one part, and a third of the same material. */
async function makeRow(): Promise<Uint8Array> {
  const document = new Document();
  const material = document.createMaterial('Wood').setRoughnessFactor(1);
  const [first, second] = [makeCube(0.2), makeCube(0.21)];
  const pair = {
    positions: Float32Array.from([
      ...first.positions,
      ...second.positions.map((value, at) => (at % 3 === 0 ? value + 0.4 : value)),
    ]),
    uvs: Float32Array.from([...first.uvs, ...second.uvs]),
    indices: Uint32Array.from([...first.indices, ...second.indices.map((index) => index + first.positions.length / 3)]),
  };
  addSolid(document, 'pair', pair, material).setTranslation([-0.5, 0, -0.1]);
  addSolid(document, 'single', makeCube(0.2), material).setTranslation([0.3, 0, -0.1]);
  return (await createIo()).writeBinary(document);
}

beforeAll(async () => {
  service = await startService();
  for (const [code, hex] of [
    ['INK', BODY],
    ['SAND', '#d8c3a0'],
  ]) {
    await service.call('PUT', `/api/finishes/${code}`, { name: `Paint ${code}`, family: 'paint', colour: { hex } });
  }
  await service.call('PUT', '/api/lines/L', { name: 'Line', range: [{ finish: 'INK' }, { finish: 'SAND' }] });
  await service.call('POST', '/api/products', { code: 'CUBES', name: 'Three cubes', line: 'L' });
  const type = { 'content-type': 'model/gltf-binary' };
  expect((await service.call('PUT', `${PATH}/model`, await makeCubes(), type)).status).toBe(201);
  const variants = [
    { code: 'A', name: 'Ink body', choices: { body: 'INK', cheeks: 'SAND' } },
    { code: 'B', name: 'Sand body', choices: { body: 'SAND', cheeks: 'INK' } },
  ];
  const stored = await service.call('PUT', `${PATH}/schedule`, { default: 'A', variants });
  expect(stored.status).toBe(200);
  browser = await openGlBrowser();
  page = await browser.newPage();
  page.on('pageerror', (error) => faults.push(String(error)));
  await page.setViewport({ width: 1280, height: 900 });
  // pictures of the service take the same processors
  await page.setRequestInterception(true);
  page.on('request', (request) => {
    const isPicture = /\/(pictures\/|picture\.|swatch\.)/.test(request.url());
    void (isPicture ? request.respond({ status: 404, body: '' }) : request.continue());
  });
  await page.goto(`${service.url}/products/CUBES/parts`);
  await page.waitForSelector('.dimensions', { timeout: 60_000 });
  await page.waitForSelector('::-p-xpath(//button[normalize-space()="Lasso"])', { timeout: 60_000 });
  stage = (await page.$('.stage canvas'))!;
  await pressButton(page, 'Front');
  await page.waitForFunction(() => document.querySelectorAll('.dimensions > g:not(.floor-mark)').length === 2);
});

afterAll(async () => {
  await browser?.close();
  await service?.close();
});

/** A place at a share of the product's width, in the middle of its height; px of the window. */
async function atShare(share: number): Promise<[number, number]> {
  const { from, to } = await readDimension(page, 0);
  const { y, height } = (await stage.boundingBox())!;
  return [from + (to - from) * share, y + height / 2];
}

const widthPx = async () => {
  const { from, to } = await readDimension(page, 0);
  return to - from;
};

/** Waits until the width line has another length. */
const waitForWidth = (before: number) =>
  page.waitForFunction(
    (old) => {
      const path = document.querySelectorAll('.dimensions > g:not(.floor-mark) path')[1]?.getAttribute('d') ?? '';
      const [from, to] = (path.split('M')[1] ?? '').split('L').map((place) => Number(place.split(' ')[0]));
      return Math.abs(to! - from! - old) > 0.5;
    },
    {},
    before,
  );

describe('a part of the product', () => {
  it('is named with its slot when the pointer is on it', async () => {
    await page.mouse.move(...(await atShare(0.1)));
    await page.waitForFunction(() => document.querySelector('.pointed')?.textContent?.includes('Cheeks'));
    await page.mouse.move(...(await atShare(0.5)));
    await page.waitForFunction(() => document.querySelector('.pointed')?.textContent?.includes('Body'));
    await page.mouse.move(...(await atShare(0.3)));
    await page.waitForFunction(() => document.querySelector('.pointed') === null);
  });

  it('is picked by a click; Shift adds and takes away; the ground clears', async () => {
    await page.mouse.click(...(await atShare(0.1)));
    await seeText(page, '1 piece chosen');
    await page.keyboard.down('Shift');
    await page.mouse.click(...(await atShare(0.5)));
    await seeText(page, '2 pieces chosen');
    await page.mouse.click(...(await atShare(0.1)));
    await seeText(page, '1 piece chosen');
    await page.keyboard.up('Shift');
    await page.mouse.click(...(await atShare(0.3)));
    await page.waitForFunction(() => !document.querySelector('.pick-bar')?.textContent?.includes('chosen'));
  });

  it('brings those of its shape and material along', async () => {
    await page.mouse.click(...(await atShare(0.9)));
    await pressButton(page, 'All alike');
    await seeText(page, '2 pieces chosen');
    await stage.focus();
    await page.keyboard.press('Escape');
    await page.waitForFunction(() => !document.querySelector('.pick-bar')?.textContent?.includes('chosen'));
  });

  it('is picked by a line around it', async () => {
    await pressButton(page, 'Lasso');
    const { y, height } = (await stage.boundingBox())!;
    const [left] = await atShare(0.4);
    const [right] = await atShare(1.05);
    await page.mouse.move(left, y + height * 0.2);
    await page.mouse.down();
    for (const [x, share] of [
      [right, 0.2],
      [right, 0.8],
      [left, 0.8],
    ] as const) {
      await page.mouse.move(x, y + height * share, { steps: 3 });
    }
    await page.mouse.up();
    await seeText(page, '2 pieces chosen');
    await page.keyboard.press('Escape');
  });
});

describe('the camera', () => {
  it('is moved by keys, within limits, and fits again', async () => {
    await stage.focus();
    const fitted = await widthPx();
    await page.keyboard.press('+');
    await waitForWidth(fitted);
    expect((await widthPx()) / fitted).toBeCloseTo(1.25, 2);
    for (let press = 0; press < 12; press++) await page.keyboard.press('-');
    await page.waitForFunction(() => document.querySelector('.dimensions'));
    await waitForWidth(fitted * 1.25);
    await page.waitForFunction(
      (half) => {
        const path = document.querySelectorAll('.dimensions > g:not(.floor-mark) path')[1]?.getAttribute('d') ?? '';
        const [from, to] = (path.split('M')[1] ?? '').split('L').map((place) => Number(place.split(' ')[0]));
        return Math.abs(to! - from! - half) < 1;
      },
      {},
      fitted / 2,
    );
    await page.keyboard.press('f');
    await waitForWidth(fitted / 2);
    expect(await widthPx()).toBeCloseTo(fitted, 0);
    for (let press = 0; press < 3; press++) await page.keyboard.press('ArrowLeft');
    await page.waitForFunction(() => document.querySelectorAll('.dimensions > g:not(.floor-mark)').length === 3);
    expect(await page.$('.view-controls fieldset:first-child [aria-pressed="true"]')).toBeNull();
    await pressButton(page, 'Front');
    await page.waitForFunction(() => document.querySelectorAll('.dimensions > g:not(.floor-mark)').length === 2);
  });

  it('leaves the wheel to the page until the view has the focus', async () => {
    const fitted = await widthPx();
    await page.evaluate(() => (document.activeElement as HTMLElement).blur());
    await page.mouse.move(...(await atShare(0.5)));
    await page.mouse.wheel({ deltaY: 120 });
    await page.waitForFunction(() => window.scrollY > 0);
    expect(await widthPx()).toBeCloseTo(fitted, 1);
    await page.evaluate(() => window.scrollTo(0, 0));
    await page.waitForFunction(() => window.scrollY === 0);
    await stage.focus();
    await page.mouse.wheel({ deltaY: -120 });
    await waitForWidth(fitted);
    expect(await page.evaluate(() => window.scrollY)).toBe(0);
    await pressButton(page, 'Fit');
  });
});

describe('colours', () => {
  it('stand as specified in even light', async () => {
    await pressButton(page, 'Even grey light');
    await page.waitForSelector('.stage.even');
    const [x, y] = await atShare(0.5);
    const expected = [0x2f, 0x5d, 0x73];
    // the view is refined for some frames
    await expect
      .poll(
        async () => {
          const clip = { x: Math.round(x) - 2, y: Math.round(y) - 2, width: 4, height: 4 };
          const { data } = await sharp(await page.screenshot({ clip }))
            .raw()
            .toBuffer({ resolveWithObject: true });
          return Math.max(...expected.map((level, channel) => Math.abs(data[channel]! - level)));
        },
        { timeout: 60_000, interval: 500 },
      )
      .toBeLessThanOrEqual(1);
    await pressButton(page, 'Even grey light');
  });

  it('of two variants are compared side by side, with one camera', async () => {
    await pressButton(page, 'Compare');
    await page.waitForFunction(() => document.querySelectorAll('.pane-names li').length === 2);
    const names = await page.$$eval('.pane-names li', (items) => items.map((item) => item.textContent ?? ''));
    expect(names[0]).toContain('Ink body');
    expect(names[1]).toContain('Sand body');
    // the same part is under the pointer at the same place of either pane
    for (const pane of await page.$$('.pane-names li')) {
      const { x, y, width, height } = (await pane.boundingBox())!;
      await page.mouse.move(x + width / 2, y + height / 2);
      await page.waitForFunction(() => document.querySelector('.pointed')?.textContent?.includes('Body'));
      await page.mouse.move(x + width / 2, y + height - 10);
      await page.waitForFunction(() => document.querySelector('.pointed') === null);
    }
    await page.locator('.pane-names button').click();
    await page.waitForSelector('.dimensions');
    const focused = () => page.evaluate(() => document.activeElement?.textContent);
    expect(await focused()).toBe('Compare');
    await page.keyboard.press('Enter');
    await page.waitForFunction(() => document.querySelectorAll('.pane-names li').length === 2);
    expect(await focused()).toBe('Stop comparing');
    await page.keyboard.press('Enter');
    await page.waitForSelector('.dimensions');
    expect(await focused()).toBe('Compare');
  });
});

describe('the sheet of parts', () => {
  it('marks the row of the part under the pointer, and the part of the row', async () => {
    await pressButton(page, 'Front');
    await page.mouse.move(...(await atShare(0.5)));
    await page.waitForFunction(
      () => document.querySelector<HTMLInputElement>('.slots .pointed-at input')?.value === 'Body',
    );
    await page.hover('.slots tbody tr:nth-child(1)');
    await page.waitForFunction(() => document.querySelector('.pick-bar [aria-live]')?.textContent !== '');
    const name = await page.$eval('.slots tbody tr:nth-child(1) input', (field) => field.value);
    expect(await page.$eval('.pick-bar [aria-live]', (line) => line.textContent)).toContain(name);
  });

  it('makes a slot from a piece that is clicked and named', async () => {
    await page.mouse.click(...(await atShare(0.9)));
    await seeText(page, '1 piece ticked.');
    await page.locator('::-p-xpath(//label[span[normalize-space()="Slot name"]]//input)').fill('right cheek');
    await page.keyboard.press('Enter');
    await seeText(page, 'revision 2,', 60_000);
    const { slots } = (await service.call('GET', `${PATH}/slots`)).body;
    expect(slots.map(({ label }: { label: string }) => label)).toContain('right cheek');
    await page.waitForSelector('button[title="Undo: repairs, revision 2"]');
  });
});

describe('by touch, on a phone', () => {
  let phone: Page;
  const press = (name: string) => FINGER.press(phone, name);
  const see = (text: string) => seeText(phone, text);
  const readWidth = async () => {
    const { from, to } = await readDimension(phone, 0);
    return to - from;
  };
  /** A place at a share of the canvas, px of the window; the canvas is in sight. */
  async function atCanvas(across: number, down: number): Promise<[number, number]> {
    const canvas = (await phone.$('.stage canvas'))!;
    await canvas.evaluate((element) => element.scrollIntoView({ block: 'center' }));
    const { x, y, width, height } = (await canvas.boundingBox())!;
    return [x + width * across, y + height * down];
  }
  /** Moves a finger along a line of places. */
  async function drag(places: readonly (readonly [number, number])[]): Promise<void> {
    const [first, ...rest] = places;
    const finger = await phone.touchscreen.touchStart(...first!);
    for (const place of rest) await finger.move(...place);
    await finger.end();
  }
  /** A place on the product at a share of its width, from the front. */
  async function onProduct(share: number): Promise<[number, number]> {
    await atCanvas(0.5, 0.5);
    const { from, to } = await readDimension(phone, 0);
    const [, y] = await atCanvas(0.5, 0.5);
    return [from + (to - from) * share, y];
  }
  /** The page moves when the line about the choice goes. */
  async function clear(): Promise<void> {
    await press('Clear');
    await phone.waitForFunction(() => !document.querySelector('.pick-bar')?.textContent?.includes('chosen'));
  }
  const isFront = () =>
    phone.waitForFunction(() => document.querySelectorAll('.dimensions > g:not(.floor-mark)').length === 2);

  beforeAll(async () => {
    await service.call('POST', '/api/products', { code: 'ROW', name: 'Row of cubes', line: 'L' });
    const type = { 'content-type': 'model/gltf-binary' };
    expect((await service.call('PUT', '/api/products/ROW/model', await makeRow(), type)).status).toBe(201);
    phone = await browser.newPage();
    phone.on('pageerror', (error) => faults.push(String(error)));
    await takeInHand(phone, FINGER);
    await phone.goto(`${service.url}/products/ROW/parts`);
    await phone.waitForSelector('::-p-xpath(//button[normalize-space()="Lasso"])', { timeout: 60_000 });
    await press('Front');
    await isFront();
  });

  it('a tap picks a piece, more are added, and the whole part comes along', async () => {
    await phone.touchscreen.tap(...(await onProduct(0.1)));
    await see('1 piece chosen');
    await press('Whole part');
    await see('2 pieces chosen');
    await press('Add more');
    await phone.touchscreen.tap(...(await onProduct(0.9)));
    await see('3 pieces chosen');
    await clear();
  });

  it('a finger draws a line around pieces', async () => {
    await press('Lasso');
    const [left, y] = await onProduct(-0.03);
    const [right] = await onProduct(0.62);
    const up = y - 60;
    const down = y + 60;
    await drag([
      [left, up],
      [(left + right) / 2, up],
      [right, up],
      [right, down],
      [(left + right) / 2, down],
      [left, down],
    ]);
    await see('2 pieces chosen');
    await clear();
  });

  it('two fingers enlarge it, and one turns it', async () => {
    const fitted = await readWidth();
    const [x, y] = await atCanvas(0.5, 0.5);
    const one = await phone.touchscreen.touchStart(x - 30, y);
    const two = await phone.touchscreen.touchStart(x + 30, y);
    for (const spread of [40, 50, 60]) {
      await one.move(x - spread, y);
      await two.move(x + spread, y);
    }
    await one.end();
    await two.end();
    await expect.poll(async () => (await readWidth()) / fitted, { timeout: 30_000 }).toBeGreaterThan(1.5);
    await press('Fit');
    await expect.poll(async () => (await readWidth()) / fitted, { timeout: 30_000 }).toBeCloseTo(1, 1);
    // the page has moved for the button
    const [begin, height] = await atCanvas(0.3, 0.5);
    await drag([0, 20, 40, 60, 80, 100].map((along) => [begin + along, height] as const));
    await phone.waitForFunction(() => document.querySelectorAll('.dimensions > g:not(.floor-mark)').length === 3);
    await press('Front');
    await isFront();
  });

  it('the view fills the screen and comes back', async () => {
    await press('Full screen');
    await phone.waitForFunction(
      () => document.fullscreenElement?.matches('.view') || document.querySelector('.view.in-window'),
    );
    await press('Leave full screen');
    await phone.waitForFunction(() => !document.fullscreenElement && !document.querySelector('.view.in-window'));
    await phone.close();
  });
});

it('the view fills the screen by mouse, and comes back', async () => {
  await MOUSE.press(page, 'Full screen');
  await page.waitForFunction(
    () => document.fullscreenElement?.matches('.view') || document.querySelector('.view.in-window'),
  );
  await MOUSE.press(page, 'Leave full screen');
  await page.waitForFunction(() => !document.fullscreenElement && !document.querySelector('.view.in-window'));
});

it('without WebGL, pictures take the place of the view', async () => {
  const { browser: plain, page: other } = await openPages(faults);
  await other.goto(`${service.url}/products/CUBES/parts`);
  await seeText(other, 'The live view does not work: it needs WebGL, which this browser does not provide.');
  await pressButton(other, 'Back');
  await other.waitForSelector('.view-controls [aria-pressed="true"]');
  expect(await other.$eval('.view-controls [aria-pressed="true"]', (button) => button.textContent)).toBe('Back');
  await plain.close();
});

it('runs without a fault', () => {
  expect(faults).toEqual([]);
});
