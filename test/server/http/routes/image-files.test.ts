import sharp from 'sharp';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { KTX2 } from '../../../support/ktx2.ts';
import { startService, type TestService } from '../../../support/start-service.ts';

let service: TestService;
beforeAll(async () => {
  service = await startService();
});
afterAll(() => service.close());

const upload = (bytes: Uint8Array, type: string) => service.call('POST', '/api/files', bytes, { 'content-type': type });
const codes = (findings: readonly { readonly code: string }[]) => findings.map(({ code }) => code);

/** A ramp of 100 × 64 px: no power of two across, and a step where it repeats. */
const makeRamp = () =>
  sharp(Buffer.from(Array.from({ length: 100 * 64 }, (_, i) => [i % 100, (i % 100) * 2, 30]).flat()), {
    raw: { width: 100, height: 64, channels: 3 },
  })
    .png()
    .toBuffer();

it('answers an upload with what it is as a map, and so later by its digest', async () => {
  const { status, body } = await upload(await makeRamp(), 'image/png');
  expect(status).toBe(201);
  expect(body).toMatchObject({ mimeType: 'image/png', widthPx: 100, heightPx: 64, looksLike: 'colour' });
  expect(body.facts.content.channels[0].max).toBeCloseTo(99 / 255, 12);
  expect(codes(body.findings)).toEqual(['map-not-power-of-two', 'map-not-tileable']);
  expect(codes(body.uses.colour)).toEqual([]);
  expect(codes(body.uses.normal)).toEqual(['map-wrong-content']);
  const again = await service.call('GET', `/api/files/${body.sha256}`);
  expect(again.status).toBe(200);
  expect(again.body).toEqual(body);
});

it('takes a map with findings into a finish all the same', async () => {
  const { body } = await upload(await makeRamp(), 'image/png');
  const finish = { name: 'Ramp', family: 'textile', colour: { hex: '#2f5d73' }, maps: { normal: body.sha256 } };
  expect((await service.call('PUT', '/api/finishes/RAMP', finish)).status).toBe(201);
  const article = { name: 'Twill', family: 'textile', threadsPerCm: 24 };
  expect((await service.call('PUT', '/api/articles/TWILL', article)).body).toMatchObject({ threadsPerCm: 24 });
  expect((await service.call('PUT', '/api/articles/TWILL', { ...article, threadsPerCm: 0 })).status).toBe(400);
});

it('does not measure KTX2, and says so', async () => {
  const { status, body } = await upload(KTX2.etc1s, 'image/ktx2');
  expect(status).toBe(201);
  expect(body).toMatchObject({ widthPx: 16, heightPx: 16, facts: null, looksLike: null });
  expect(codes(body.findings)).toEqual(['image-undecodable']);
});

it('knows only what was uploaded', async () => {
  expect(await service.call('GET', `/api/files/${'0'.repeat(64)}`)).toMatchObject({
    status: 404,
    body: { code: 'not-found' },
  });
  expect((await service.call('GET', '/api/files/seat.png')).status).toBe(400);
});

it('hands an uploaded image out as it came, and a model under no such address', async () => {
  const png = await makeRamp();
  const { body } = await upload(png, 'image/png');
  const { status, body: bytes, headers } = await service.call('GET', `/api/files/${body.sha256}/image`);
  expect(status).toBe(200);
  expect(Buffer.from(bytes).equals(png)).toBe(true);
  expect(headers.get('content-type')).toBe('image/png');
  const missing = await service.call('GET', `/api/files/${'0'.repeat(64)}/image`);
  expect(missing).toMatchObject({ status: 404, body: { code: 'not-found' } });
});
