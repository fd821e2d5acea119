import { converter, differenceCiede2000, parse } from 'culori';
import sharp from 'sharp';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { makeClothMaps } from '../support/cloth-maps.ts';
import { startService, type TestService } from '../support/start-service.ts';

// In even light a panel shows only base colour × map, so over whole repeats it averages to the specified colour. The
// average is computed here, in linear light by culori, like CIEDE2000.

const toLinear = converter('lrgb');
const distance = differenceCiede2000();
const DECODED = Float64Array.from({ length: 256 }, (_, code) => {
  const value = code / 255;
  return toLinear({ mode: 'rgb', r: value, g: value, b: value }).r!;
});

const COLOURS = { NAVY: '#1c2f55', TARN: '#2f5d73', SLATE: '#8a8d8f', CHALK: '#ebe5d8' };
const TILE_MM = 20;
const SIZE_PX = 400;

let service: TestService;
beforeAll(async () => {
  service = await startService();
  const maps = await makeClothMaps();
  for (const name of ['dyed', 'dark', 'holed', 'deep'] as const) {
    const upload = await service.call('POST', '/api/files', maps[name], { 'content-type': 'image/png' });
    for (const [code, hex] of Object.entries(COLOURS)) {
      const { status } = await service.call('PUT', `/api/finishes/${code}-${name}`, {
        name: `${code} ${name}`,
        family: 'textile',
        colour: { hex },
        maps: { colour: upload.body.sha256 },
        tile: { widthMm: TILE_MM, heightMm: TILE_MM },
      });
      expect(status).toBe(201);
    }
  }
}, 120_000);
afterAll(() => service.close());

it.each(
  Object.entries(COLOURS).flatMap(([code, hex]) => ['dyed', 'dark', 'holed', 'deep'].map((map) => [code, map, hex])),
)('%s on the %s map averages to its specified colour in even light, and the figures say so', async (code, map, hex) => {
  const query = `kind=panel&light=flat&size=${SIZE_PX}&widthMm=80`;
  const answer = await service.call('GET', `/api/finishes/${code}-${map}/swatch.png?${query}`);
  expect(answer.status).toBe(200);
  const { data, info } = await sharp(answer.body as Uint8Array)
    .ensureAlpha()
    .raw()
    .toBuffer({ resolveWithObject: true });
  const { body: figures } = await service.call('GET', `/api/finishes/${code}-${map}/swatch.json?${query}`);
  const [left, top] = findCorner(data, info.width);
  const side = Math.round(3 * TILE_MM * figures.scale.pxPerMm);
  const sum = [0, 0, 0];
  for (let y = top; y < top + side; y++) {
    for (let x = left; x < left + side; x++) {
      for (const c of [0, 1, 2]) sum[c]! += DECODED[data[(y * info.width + x) * 4 + c]!]!;
    }
  }
  const [r, g, b] = sum.map((value) => value / side ** 2);
  const seen = { mode: 'lrgb', r: r!, g: g!, b: b! };
  expect(distance(parse(hex!), seen)).toBeLessThan(1);
  expect(figures.measured.where).toBe('whole-repeats');
  const [l, a, labB] = figures.measured.lab;
  expect(distance({ mode: 'lab65', l, a, b: labB }, seen)).toBeLessThan(0.5);
  expect(figures.deltaE).toBeLessThan(1);
});

/** The first opaque pixel, row by row: the corner of the piece. */
function findCorner(data: Buffer, width: number): [number, number] {
  for (let at = 0; at * 4 < data.length; at++)
    if (data[at * 4 + 3] === 255) return [at % width, Math.floor(at / width)];
  throw new Error('the picture is empty');
}
