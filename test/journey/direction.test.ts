import { Document, NodeIO } from '@gltf-transform/core';
import { KHRTextureTransform, type Transform } from '@gltf-transform/extensions';
import type { BrowserContext, Page } from 'puppeteer-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { makeFlatPng } from '../support/make-normals.ts';
import { addSolid, makeGrid } from '../support/make-solid.ts';
import { openPages } from '../support/open-pages.ts';
import { startService, type TestService } from '../support/start-service.ts';

// A bench twice as wide as high, with upright UVs: veneer runs along it by default (common practice), until a person
// sets another direction.

const PATH = '/api/products/BENCH';
let service: TestService;
let browser: BrowserContext;
let page: Page;
const faults: string[] = [];

beforeAll(async () => {
  service = await startService();
  for (const [code, family] of [
    ['OAK', 'wood'],
    ['FELT', 'textile'],
    ['BLUE', 'paint'],
  ]) {
    const maps = family === 'wood' ? { maps: { colour: await upload() }, tile: { widthMm: 100, heightMm: 100 } } : {};
    const finish = { name: code, family, colour: { hex: '#805030' }, ...maps };
    expect((await service.call('PUT', `/api/finishes/${code}`, finish)).status).toBe(201);
  }
  await service.call('POST', '/api/products', { code: 'BENCH', name: 'Bench' });
  const document = new Document();
  const front = makeGrid(2, 2, (u, v) => [2 * u - 1, v, 0]);
  for (let i = 0; i < front.uvs.length; i += 2) front.uvs.set([front.uvs[i]! * 2, 1 - front.uvs[i + 1]!], i);
  addSolid(document, 'front', front, document.createMaterial('front'));
  const glb = await new NodeIO().writeBinary(document);
  const { status } = await service.call('PUT', `${PATH}/model`, glb, { 'content-type': 'model/gltf-binary' });
  expect(status).toBe(201);
  ({ browser, page } = await openPages(faults));
});
afterAll(async () => {
  await browser?.close();
  await service?.close();
});

/** Any picture: only its direction matters. */
async function upload(): Promise<string> {
  const { body } = await service.call('POST', '/api/files', await makeFlatPng(), { 'content-type': 'image/png' });
  return body.sha256;
}

const getSlot = async () => (await service.call('GET', `${PATH}/slots`)).body.slots[0];
const take = (options: unknown) => service.call('PATCH', `${PATH}/slots/front`, { options });

describe('the direction of a slot', () => {
  it('follows the part: wood along it, cloth as it hangs, with the reason', async () => {
    await take({ families: ['wood'] });
    expect(await getSlot()).toMatchObject({
      grainDegrees: 0,
      directions: { wood: 90, textile: 0 },
      proposedGrain: { grainDegrees: 90, confidence: 'clear', reason: expect.stringContaining('longer direction') },
      grainMark: { view: 'front' },
    });
    await take({ families: ['textile'] });
    expect((await getSlot()).proposedGrain).toMatchObject({ grainDegrees: 0, confidence: 'clear' });
    await take({ families: ['paint'] });
    expect((await getSlot()).proposedGrain).toBeNull();
  });

  it('is delivered as proposed, and as a person sets it, including 0', async () => {
    await take({ families: ['wood'] });
    await service.call('PUT', `${PATH}/schedule`, {
      default: 'A',
      variants: [{ code: 'A', name: 'Oak', choices: { front: 'OAK' } }],
    });
    const deliver = async (delivery: number) => {
      expect((await service.call('POST', `${PATH}/deliveries`, {})).status).toBe(201);
      const { body } = await service.call('GET', `${PATH}/deliveries/${delivery}/manifest.json`);
      const file = await fetch(`${service.url}${PATH}/deliveries/${delivery}/model.glb`);
      const document = await new NodeIO()
        .registerExtensions([KHRTextureTransform])
        .readBinary(new Uint8Array(await file.arrayBuffer()));
      const [material] = document
        .getRoot()
        .listMaterials()
        .filter((each) => each.getName().endsWith('/OAK'));
      const transform = material!.getBaseColorTextureInfo()!.getExtension<Transform>('KHR_texture_transform')!;
      return { slot: body.slots.find(({ slot }: { slot: string }) => slot === 'front'), turn: transform.getRotation() };
    };
    const followed = await deliver(1);
    expect(followed.slot).toMatchObject({ directions: { wood: 90 } });
    // a map that appears turned by 90° counter-clockwise has its coordinates turned the other way: 270°
    // (KHR_texture_transform)
    expect(followed.turn).toBeCloseTo((3 * Math.PI) / 2, 6);
    await service.call('PATCH', `${PATH}/slots/front`, { grainDegrees: 0 });
    const said = await deliver(2);
    expect(said.slot).toMatchObject({ grainDegrees: 0 });
    expect(said.slot.directions).toBeUndefined();
    expect(said.turn).toBe(0);
  });

  it('is drawn on the part; one button uses the proposal and another follows the part again', async () => {
    await page.goto(`${service.url}/products/BENCH/parts`);
    await page.locator('button[aria-label="Change the kept maps and the direction of front"]').click();
    const drawing = await page.waitForSelector('.direction-drawing svg');
    expect(await drawing!.evaluate((svg) => svg.getAttribute('aria-label'))).toBe(
      'Direction on front, from the front: 0°, proposed 90°',
    );
    // an upright line for the current direction, a horizontal one for the proposal
    const readLine = (kind: string) =>
      page.$eval(`.direction-drawing .${kind} .shaft`, (path) =>
        path
          .getAttribute('d')!
          .match(/[\d.]+/g)!
          .map(Number),
      );
    const [x1, y1, x2, y2] = await readLine('stored');
    expect(Math.abs(x1! - x2!)).toBeLessThan(0.01);
    expect(Math.abs(y1! - y2!)).toBeGreaterThan(50);
    const [, level1, , level2] = await readLine('proposed');
    expect(Math.abs(level1! - level2!)).toBeLessThan(0.01);
    await page.locator('::-p-xpath(//tbody//button[normalize-space()="Use 90° for front"])').click();
    await page.waitForFunction(() => !document.querySelector('.direction-drawing .proposed'));
    expect(await getSlot()).toMatchObject({ grainDegrees: 90, directions: null });
    await page.locator('.direction button::-p-text(Follow the part)').click();
    await page.waitForFunction(() =>
      document.body.textContent.includes('The direction follows the part: grain lengthwise'),
    );
    const [, along1, , along2] = await readLine('stored');
    expect(Math.abs(along1! - along2!)).toBeLessThan(0.01);
    expect(await getSlot()).toMatchObject({ directions: { wood: 90 } });
  });

  it('is typed in degrees, with an error beside an invalid value', async () => {
    const type = async (text: string) => {
      const field = await page.waitForSelector('input[aria-label="Degrees of front"]');
      await field!.click({ count: 3 });
      await field!.type(text);
      await page.keyboard.press('Enter');
    };
    await type('across');
    await page.waitForFunction(() => document.body.textContent.includes('“across” is not an angle'));
    await type('12.5');
    await page.waitForFunction(() => !document.body.textContent.includes('is not an angle'));
    await page.waitForSelector('::-p-xpath(//tbody//button[normalize-space()="Use 90° for front"])');
    expect(await getSlot()).toMatchObject({ grainDegrees: 12.5 });
    expect(faults).toEqual([]);
  });
});
