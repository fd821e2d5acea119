import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { planPanel } from '../../server/core/picture/swatch.ts';
import { startService, type TestService } from '../support/start-service.ts';

/**
 * Levels by which a channel may be off, because the shader's encoding rounds differently from this machine's
 * arithmetic.
 */
const ROUNDING = 1;

/** The photographer's card, 18 % of the light; in sRGB (IEC 61966-2-1) that is level 118. */
const CARD = '#767676';

/** Half the light of white is level 188 in sRGB; maps are filtered in linear light. */
const HALF = 188;

const COLOURS = { TARN: '#2f5d73', CREAM: '#efe9dd', INK: '#17181b', SIGNAL: '#9f201f' };

let service: TestService;
beforeAll(async () => {
  service = await startService();
  const put = (code: string, body: object) =>
    service.call('PUT', `/api/finishes/${code}`, { name: code, family: 'paint', clearcoat: 0, roughness: 1, ...body });
  await put('CARD', { colour: { hex: CARD } });
  for (const [code, hex] of Object.entries(COLOURS)) await put(code, { colour: { hex } });
  await put('GOLD', { colour: { hex: '#f5e4ae' }, family: 'bare-metal', metal: true, roughness: 0.3 });
  // A repeat of 50 mm, its left half dark and its right half light.
  const stripes = await sharp(Buffer.from([0, 255].flatMap((level) => Array<number>(32).fill(level)).concat()), {
    raw: { width: 64, height: 1, channels: 1 },
  })
    .resize(64, 64, { fit: 'fill', kernel: 'nearest' })
    .toColourspace('srgb')
    .png()
    .toBuffer();
  const { sha256 } = (await service.call('POST', '/api/files', stripes, { 'content-type': 'image/png' })).body;
  await put('STRIPES', {
    colour: { hex: '#ffffff' },
    family: 'textile',
    maps: { colour: sha256 },
    tile: { widthMm: 50, heightMm: 50 },
  });
}, 120_000);
afterAll(() => service.close());

interface Pixels {
  readonly bytes: Uint8Array;
  at(x: number, y: number): readonly [number, number, number, number];
}

async function take(code: string, query: string): Promise<Pixels> {
  const answer = await service.call('GET', `/api/finishes/${code}/swatch.png?${query}`);
  expect(answer.status, JSON.stringify(answer.body.detail)).toBe(200);
  const { data, info } = await sharp(answer.body as Uint8Array)
    .ensureAlpha()
    .raw()
    .toBuffer({ resolveWithObject: true });
  const at = (x: number, y: number) => [0, 1, 2, 3].map((channel) => data[(y * info.width + x) * 4 + channel]!);
  return { bytes: answer.body, at: at as never as Pixels['at'] };
}

const levelsOf = (hex: string) => [1, 3, 5].map((at) => Number.parseInt(hex.slice(at, at + 2), 16));

function farthest(pixel: readonly number[], hex: string): number {
  return Math.max(...levelsOf(hex).map((level, channel) => Math.abs(pixel[channel]! - level)));
}

describe('a panel', () => {
  it('shows the grey card its own value everywhere below its gloss: the light is even, and the shadow lies behind the card', async () => {
    const { left, top, widthPx, heightPx, glossPx } = planPanel(256, 100);
    const { at } = await take('CARD', 'kind=panel&size=256');
    for (let y = top + glossPx; y < top + heightPx; y += 5) {
      for (const x of [left, left + 3, left + widthPx / 2, left + widthPx - 1]) {
        // A square-on view has slightly more shine than the card in perspective.
        expect(farthest(at(Math.floor(x), y), CARD), `at ${x}, ${y}`).toBeLessThanOrEqual(ROUNDING + 1);
      }
    }
    // The corner is empty, and a soft shadow lies beside the piece.
    expect(at(0, 0)[3]).toBe(0);
    expect(at(left + widthPx + 1, top + heightPx / 2)[3]).toBeGreaterThan(8);
  });

  it.each([
    ['a pattern of 50 mm on a piece of 100', 512, 100],
    ['the same on one of 200, smaller', 512, 200],
    ['and on a large one of 60', 1024, 60],
  ])('is true to scale: %s', async (_, sizePx, widthMm) => {
    const layout = planPanel(sizePx, widthMm);
    const { at } = await take('STRIPES', `kind=panel&light=flat&size=${sizePx}&widthMm=${widthMm}`);
    const y = layout.top + Math.floor(layout.heightPx / 2);
    // A texel of the map blends from dark to light. At the start of the repeat, half of it is outside the piece.
    const texelPx = (50 / 64) * layout.pxPerMm;
    const turns: number[] = [];
    for (let x = layout.left + Math.ceil(texelPx); x < layout.left + layout.widthPx; x++) {
      if (at(x - 1, y)[0] < HALF !== at(x, y)[0] < HALF) turns.push(x - layout.left);
    }
    const expected = Array.from({ length: Math.ceil(widthMm / 25) - 1 }, (_, turn) => (turn + 1) * 25 * layout.pxPerMm);
    expect(turns).toHaveLength(expected.length);
    for (const [turn, x] of turns.entries()) expect(Math.abs(x - expected[turn]!)).toBeLessThanOrEqual(1);
  });

  it('has a printed ruler with a tick per millimetre', async () => {
    const layout = planPanel(1024, 100);
    const { at } = await take('CREAM', 'kind=panel&size=1024&widthMm=100');
    const y = layout.top + layout.heightPx + 1;
    const ticks: number[] = [];
    for (let x = layout.left; x < layout.left + layout.widthPx; x++) {
      if (at(x, y)[0] < 128 && (x === layout.left || at(x - 1, y)[0] >= 128)) ticks.push(x);
    }
    expect(ticks).toHaveLength(101);
    for (let mm = 1; mm < 100; mm++) {
      expect(Math.abs(ticks[mm]! - ticks[1]! - (mm - 1) * layout.pxPerMm)).toBeLessThanOrEqual(1);
    }
  });
});

describe('flat light is exact', () => {
  it.each(
    ['sphere', 'panel', 'cutting'].flatMap((kind) =>
      Object.entries({ ...COLOURS, GOLD: '#f5e4ae' }).map(([code, hex]) => [kind, code, hex] as const),
    ),
  )('%s of %s', async (kind, code, hex) => {
    const { at } = await take(code, `kind=${kind}&size=96&light=flat`);
    for (const [x, y] of [
      [48, 48],
      [40, 52],
      [56, 44],
    ] as const) {
      expect(at(x, y)[3]).toBe(255);
      expect(farthest(at(x, y), hex)).toBeLessThanOrEqual(ROUNDING);
    }
  });

  it('in lossless WebP too', async () => {
    const answer = await service.call('GET', '/api/finishes/SIGNAL/swatch.webp?kind=panel&size=96&light=flat');
    const { data } = await sharp(answer.body as Uint8Array)
      .removeAlpha()
      .extract({ left: 48, top: 40, width: 1, height: 1 })
      .raw()
      .toBuffer({ resolveWithObject: true });
    expect(farthest([...data], COLOURS.SIGNAL)).toBeLessThanOrEqual(ROUNDING);
  });
});

describe('a cutting', () => {
  it('lies in folds that the light models, with its shadow on the ground, and stays within the picture', async () => {
    const { at } = await take('CARD', 'kind=cutting&size=256');
    const levels: number[] = [];
    let [covered, shaded] = [0, 0];
    for (let y = 0; y < 256; y++) {
      for (let x = 0; x < 256; x++) {
        const [level, , , alpha] = at(x, y);
        if (alpha === 255) levels.push(level);
        if (alpha === 255) covered++;
        else if (alpha > 4 && level < 8) shaded++;
        if (x === 0 || y === 0 || x === 255 || y === 255) expect(alpha).toBeLessThan(8);
      }
    }
    expect(covered / 256 ** 2).toBeGreaterThan(0.3);
    expect(shaded).toBeGreaterThan(200);
    levels.sort((a, b) => a - b);
    const share = (of: number) => levels[Math.floor(of * (levels.length - 1))]!;
    // Most of it faces up and is lighter than the upright card. Folds are shaded. No pixel is black or clipped.
    expect(share(0.02)).toBeLessThan(118);
    expect(share(0)).toBeGreaterThan(40);
    expect(share(0.5)).toBeGreaterThan(118);
    expect(share(0.9) - share(0.1)).toBeGreaterThan(20);
    expect(share(1)).toBeLessThan(190);
  });
});

it.each(['panel', 'cutting'])('the same %s has the same bytes', async (kind) => {
  const first = await take('TARN', `kind=${kind}&size=64`);
  const between = await take('CREAM', `kind=${kind}&size=80`);
  expect(between.bytes).not.toEqual(first.bytes);
  // Another revision of the same colour has the same picture, taken again.
  await service.call('PUT', '/api/finishes/TARN2', {
    name: 'TARN',
    family: 'paint',
    clearcoat: 0,
    roughness: 1,
    colour: { hex: COLOURS.TARN },
  });
  expect((await take('TARN2', `kind=${kind}&size=64`)).bytes).toEqual(first.bytes);
});
