import sharp from 'sharp';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { startService, type TestService } from '../../support/start-service.ts';

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

/** A KTX2 texture as far as its size is read (Khronos KTX 2.0, §3): a header, one empty level, a format without samples. */
function makeKtx2(widthPx: number, heightPx: number): Uint8Array {
  const bytes = new Uint8Array(132);
  bytes.set([0xab, 0x4b, 0x54, 0x58, 0x20, 0x32, 0x30, 0xbb, 0x0d, 0x0a, 0x1a, 0x0a]);
  const view = new DataView(bytes.buffer);
  const words = { 20: widthPx, 24: heightPx, 36: 1, 40: 1, 48: 104, 52: 28, 80: 132, 104: 28 };
  for (const [at, value] of Object.entries(words)) view.setUint32(Number(at), value, true);
  view.setUint16(114, 24, true);
  return bytes;
}

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
  const { status, body } = await upload(makeKtx2(1024, 512), 'image/ktx2');
  expect(status).toBe(201);
  expect(body).toMatchObject({ widthPx: 1024, heightPx: 512, facts: null, looksLike: null });
  expect(codes(body.findings)).toEqual(['image-undecodable']);
});

it('knows only what was uploaded', async () => {
  expect(await service.call('GET', `/api/files/${'0'.repeat(64)}`)).toMatchObject({
    status: 404,
    body: { code: 'not-found' },
  });
  expect((await service.call('GET', '/api/files/seat.png')).status).toBe(400);
});

it('hands an uploaded image out as it came, to be kept, and a model under no such address', async () => {
  const png = await makeRamp();
  const { body } = await upload(png, 'image/png');
  const { status, body: bytes, headers } = await service.call('GET', `/api/files/${body.sha256}/image`);
  expect(status).toBe(200);
  expect(Buffer.from(bytes).equals(png)).toBe(true);
  expect(headers.get('content-type')).toBe('image/png');
  expect(headers.get('cache-control')).toContain('immutable');
  const missing = await service.call('GET', `/api/files/${'0'.repeat(64)}/image`);
  expect(missing).toMatchObject({ status: 404, body: { code: 'not-found' } });
});
