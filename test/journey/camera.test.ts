import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { measureFileOutline } from '../support/measure-outline.ts';
import { startService, type TestService } from '../support/start-service.ts';

// Subject, size and ground of a picture, as a caller asks for them; the demo's stool and lamp.

let service: TestService;
beforeAll(async () => {
  service = await startService({ DYEWORKS_DEMO: 'on' });
  await service.filled;
}, 180_000);
afterAll(() => service.close());

const get = (product: string, query: string, format = 'png') =>
  service.call('GET', `/api/products/${product}/picture.${format}?${query}`);

describe('a picture', () => {
  it('of a slot shows its parts larger than a picture of the whole product', async () => {
    const near = await get('QM-S45', 'view=slot:seat&size=96');
    expect(near.status, JSON.stringify(near.body)).toBe(200);
    const whole = await get('QM-S45', 'view=three-quarter&size=96');
    expect(Buffer.from(near.body)).not.toEqual(Buffer.from(whole.body));
    const { width } = await measureFileOutline(near.body);
    expect(width).toBeGreaterThan(0.75 * 96);
  });

  it('of an unknown slot names the existing ones', async () => {
    const { status, body } = await get('QM-S45', 'view=slot:lid&size=96');
    expect([status, body.code]).toEqual([422, 'unknown-slot']);
    expect(body.expected).toContain('seat');
  });

  it('has all products of a line at one scale on request', async () => {
    const heights = [];
    for (const product of ['QM-S45', 'QM-L46']) {
      const { body } = await get(product, 'view=front&size=160&shadow=without&scale=line');
      const { size } = (await service.call('GET', `/api/products/${product}`)).body;
      heights.push((await measureFileOutline(body)).height / size.heightMm);
    }
    // perspective: the depth of either is a few hundredths of the camera's distance
    expect(heights[0]! / heights[1]!).toBeGreaterThan(0.95);
    expect(heights[0]! / heights[1]!).toBeLessThan(1.05);
  });

  it('fills the requested share of the frame', async () => {
    const { body } = await get('QM-L46', 'view=front&size=200&shadow=without&fill=60');
    const { width, height } = await measureFileOutline(body);
    expect(Math.max(width, height)).toBeGreaterThan(0.5 * 200);
    expect(Math.max(width, height)).toBeLessThanOrEqual(0.6 * 200 + 2);
  });

  it('of a printed size has its pixels, and keeps the product clear of the bleed', async () => {
    const { body } = await get('QM-S45', 'widthMm=60&heightMm=90&ppi=72&bleedMm=3&shadow=without&view=front');
    const { width, height } = await sharp(body).metadata();
    // 66 and 96 mm ÷ 25.4 mm × 72 ppi
    expect([width, height]).toEqual([187, 272]);
    const seen = await measureFileOutline(body);
    // 60 mm are 170 px
    expect(seen.width).toBeLessThanOrEqual(0.85 * 170 + 2);
  });

  it('has a coloured ground, the same composed and rendered', async () => {
    const query = 'size=96&ground=d9cfc0';
    const composed = await get('QM-S45', query);
    const direct = await get('QM-S45', `${query}&direct=1`);
    expect([composed, direct].map(({ headers }) => headers.get('picture-source'))).toEqual(['composed', 'rendered']);
    const [one, other] = await Promise.all(
      [composed, direct].map(({ body }) => sharp(body).removeAlpha().raw().toBuffer()),
    );
    expect([...one!.subarray(0, 3)]).toEqual([0xd9, 0xcf, 0xc0]);
    expect(one!.every((value, at) => Math.abs(value - other![at]!) <= 1)).toBe(true);
    // also as a JPEG
    const jpg = await get('QM-S45', query, 'jpg');
    const corner = await sharp(jpg.body).raw().toBuffer();
    expect(Math.abs(corner[0]! - 0xd9)).toBeLessThanOrEqual(2);
  });

  it('with 64 subsamples differs from one with 16 only in its edges', async () => {
    const [rough, fine] = await Promise.all(
      ['16', '64'].map(async (samples) => {
        const { body } = await get('QM-L46', `size=64&ground=white&shadow=without&samples=${samples}`);
        return sharp(body).removeAlpha().raw().toBuffer();
      }),
    );
    const off = [...fine!].filter((value, at) => Math.abs(value - rough![at]!) > 8).length / fine!.length;
    expect(rough!.equals(fine!)).toBe(false);
    expect(off).toBeLessThan(0.1);
  });

  it('states its camera in millimetres and metres', async () => {
    const { body } = await service.call('GET', '/api/products/QM-S45/picture.json?view=side&size=500');
    expect(body.camera).toMatchObject({ lensMm: 85, yawDegrees: 90, elevationDegrees: 5 });
    // a pinhole camera: pixels per millimetre are focal length over distance, on a frame of 24 mm
    expect(body.pxPerMm).toBeCloseTo((85 / (body.camera.distanceM * 1000) / 24) * 500, 2);
  });
});

describe('a picture is refused', () => {
  it.each([
    ['size=4097', 400],
    ['size=31', 400],
    ['size=100&width=100&height=100', 400],
    ['widthMm=100&heightMm=100', 400],
    ['widthMm=2000&heightMm=2000&ppi=300', 400],
    ['bleedMm=3', 400],
    ['ground=cream', 400],
    ['view=under', 400],
    ['fill=5', 400],
  ])('for %s', async (query, status) => {
    const answer = await get('QM-S45', query);
    expect([answer.status, typeof answer.body.code]).toEqual([status, 'string']);
  });
});
