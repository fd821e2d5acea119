import { converter } from 'culori';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { ADOBE_RGB, makeGamma, makeGreyProfile, makeRgbProfile, SRGB } from '../../../support/icc.ts';
import { startService, type TestService } from '../../../support/start-service.ts';
import { type PngParts, writePng } from '../../../support/write-png.ts';

let service: TestService;
beforeAll(async () => {
  service = await startService();
});
afterAll(() => service.close());

const upload = async (bytes: Uint8Array, type = 'image/png') =>
  service.call('POST', '/api/files', bytes, { 'content-type': type });
const texels = [90, 197, 58, 120, 100, 80, 30, 40, 50, 200, 180, 160];
const image: PngParts = { type: 'rgb', bits: 8, widthPx: 2, codes: texels };
const adobe = writePng({ ...image, icc: makeRgbProfile(ADOBE_RGB) });
const codes = (findings: readonly { readonly code: string }[]) => findings.map(({ code }) => code);

async function fetchCodes(sha256: string): Promise<number[]> {
  const { body } = await service.call('GET', `/api/files/${sha256}/image`);
  return [...(await sharp(Buffer.from(body)).raw().toBuffer())];
}

/** sRGB codes of Adobe RGB by culori 4, cut to sRGB. */
function toSrgb(adobeCodes: readonly number[]): number[] {
  const toRgb = converter('rgb');
  return [0, 3, 6, 9].flatMap((at) => {
    const [r, g, b] = adobeCodes.slice(at, at + 3).map((code) => code / 255);
    const colour = toRgb({ mode: 'a98', r: r!, g: g!, b: b! });
    return [colour.r, colour.g, colour.b].map((value) => Math.round(255 * Math.min(1, Math.max(0, value!))));
  });
}

describe('an upload in Adobe RGB', () => {
  it('is kept as it came, has a copy in sRGB beside it, and says so', async () => {
    const { status, body } = await upload(adobe);
    expect(status).toBe(201);
    expect(body.encoding).toMatchObject({
      profile: { name: 'Adobe RGB (1998)', isSrgb: false },
      bitsPerChannel: 8,
      asColour: expect.stringMatching(/^[0-9a-f]{64}$/),
      outside: 0.25,
    });
    expect(codes(body.uses.colour)).toContain('map-profile');
    expect(codes(body.uses.roughness)).toContain('map-profile');
    const { body: bytes } = await service.call('GET', `/api/files/${body.sha256}/image`);
    expect(Buffer.from(bytes).equals(adobe)).toBe(true);
    const copy = await service.call('GET', `/api/files/${body.encoding.asColour}`);
    expect(copy.body).toMatchObject({ mimeType: 'image/png', encoding: { profile: null, asColour: null } });
    expect(await fetchCodes(body.encoding.asColour)).toEqual(toSrgb(texels));
    expect((await service.call('GET', `/api/files/${body.sha256}`)).body).toEqual(body);
  });

  it('stands as its copy in the colour map of finishes and articles, and as itself in data maps', async () => {
    const { body: file } = await upload(adobe);
    const maps = { colour: file.sha256, normal: file.sha256, roughness: file.sha256 };
    const stored = { ...maps, colour: file.encoding.asColour };
    const finish = { name: 'Twill', family: 'textile', colour: { hex: '#2f5d73' }, maps };
    const first = await service.call('PUT', '/api/finishes/TWILL', finish);
    expect(first).toMatchObject({ status: 201, body: { maps: stored, revision: 1 } });
    // the same body once more changes nothing
    expect((await service.call('PUT', '/api/finishes/TWILL', finish)).body.revision).toBe(1);
    const article = await service.call('PUT', '/api/articles/TWILLS', { name: 'Twill', family: 'textile', maps });
    expect(article.body.maps).toEqual(stored);
  });
});

describe('other uploads', () => {
  it('in sRGB, or without a profile, have no copy', async () => {
    const srgb = await upload(writePng({ ...image, icc: makeRgbProfile(SRGB) }));
    expect(srgb.body.encoding).toMatchObject({ profile: { name: SRGB.name, isSrgb: true }, asColour: null });
    const plain = await upload(writePng(image));
    expect(plain.body.encoding).toEqual({ profile: null, bitsPerChannel: 8, asColour: null, outside: null });
    expect(codes(plain.body.uses.colour)).not.toContain('map-profile');
  });

  it('of 16 bits, grey and with alpha are taken', async () => {
    const deep = await upload(writePng({ ...image, bits: 16, codes: texels.map((code) => code * 257) }));
    expect(deep).toMatchObject({ status: 201, body: { encoding: { bitsPerChannel: 16, asColour: null } } });
    expect(codes(deep.body.uses.colour)).toContain('map-depth');
    const icc = makeGreyProfile('Gray gamma 1.8', makeGamma(1.8));
    const grey = await upload(writePng({ type: 'grey', bits: 16, widthPx: 2, codes: [25700, 51400], icc }));
    // (100/255)^(461/256) is 0.1853 in light, code 119; (200/255)^(461/256) is 0.6457, code 210 (IEC 61966-2-1)
    const values = await fetchCodes(grey.body.encoding.asColour);
    expect(values).toEqual([119, 119, 119, 210, 210, 210]);
    const alpha = await upload(writePng({ type: 'greyAlpha', bits: 8, widthPx: 2, codes: [10, 100, 20, 255] }));
    expect(alpha).toMatchObject({ status: 201, body: { facts: { content: { alphaVaries: true } } } });
  });

  it('in CMYK are refused with the reason', async () => {
    const cmyk = await sharp({ create: { width: 8, height: 8, channels: 3, background: '#5ac53a' } })
      .toColourspace('cmyk')
      .jpeg()
      .toBuffer();
    const { status, body } = await upload(cmyk, 'image/jpeg');
    expect({ status, code: body.code }).toEqual({ status: 422, code: 'image-colour-model' });
    expect(body.detail).toContain('CMYK');
  });
});
