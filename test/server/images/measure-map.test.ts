import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { checkMap, checkMapUse, looksNormal } from '../../../server/core/finish/check-map.ts';
import type { MapFacts } from '../../../server/core/finish/map-image.ts';
import { measureMap } from '../../../server/images/measure-map.ts';
import { createRandom } from '../../support/random.ts';

/** Images whose figures are known, made texel by texel in codes. */
async function measure(
  widthPx: number,
  heightPx: number,
  texel: (x: number, y: number) => readonly number[],
): Promise<MapFacts> {
  const codes = Array.from({ length: widthPx * heightPx }, (_, i) => texel(i % widthPx, Math.floor(i / widthPx)));
  const channels = codes[0]!.length as 3 | 4;
  const png = await sharp(Buffer.from(codes.flat()), { raw: { width: widthPx, height: heightPx, channels } })
    .png()
    .toBuffer();
  return measureMap(png);
}
const grey = (code: number) => [code, code, code];
const findings = (facts: MapFacts) => checkMap({ sha256: 'a'.repeat(64), widthPx: 64, heightPx: 64, facts });

describe('what is measured of a map', () => {
  it('is the step across its edges beside the steps inside', async () => {
    // a ramp of two codes a column: 62 × 2 from the last back to the first
    const { seams } = await measure(63, 8, (x) => grey(x * 2));
    expect(seams.leftRight!.step).toBeCloseTo(124 / 255, 12);
    expect(seams.leftRight!.inner).toBeCloseTo(2 / 255, 12);
    expect(seams.leftRight!.strongest).toBeCloseTo(2 / 255, 12);
    expect(seams.topBottom).toEqual({ step: 0, inner: 0, strongest: 0 });
    expect((await measure(1, 1, () => grey(9))).seams).toEqual({ leftRight: null, topBottom: null });
  });

  it('tells what tiles from what does not', async () => {
    const wave = (x: number) => grey(Math.round(128 + 100 * Math.sin((x / 64) * 2 * Math.PI)));
    expect(findings(await measure(64, 64, wave))).toEqual([]);
    const cut = (_: number, y: number) => grey(Math.round(128 + 100 * Math.sin((y / 64) * 1.5 * Math.PI)));
    expect(findings(await measure(64, 64, cut))).toMatchObject([
      { code: 'map-not-tileable', severity: 'warning', place: 'top and bottom' },
    ]);
    // noise meets itself as any neighbours do
    const random = createRandom(7);
    expect(findings(await measure(64, 64, () => grey(random.whole(256))))).toEqual([]);
    // tiles whose joint, a dark line, is the last column, and one more inside: a joint, not a fault
    const joint = await measure(64, 64, (x) => grey(x % 32 === 31 ? 20 : 200));
    expect(findings(joint).filter(({ severity }) => severity !== 'note')).toEqual([]);
  });

  it('holds of large maps, which are thinned out', async () => {
    const wave = (x: number) => grey(Math.round(128 + 100 * Math.sin((x / 4096) * 2 * Math.PI)));
    expect(findings(await measure(4096, 4, wave))).toEqual([]);
    const ramp = await measure(4096, 4, (x) => grey(Math.floor(x / 16)));
    expect(findings(ramp).map(({ code }) => code)).toContain('map-not-tileable');
  });

  it('is the mean in linear light, channels, grey and alpha', async () => {
    const { content } = await measure(2, 2, (x) => [x ? 255 : 0, 51, 51, 255]);
    expect(content.linearMean[0]).toBeCloseTo(0.5, 12);
    // IEC 61966-2-1: 0.2 decodes to ((0.2 + 0.055) / 1.055) ^ 2.4
    expect(content.linearMean[1]).toBeCloseTo(((0.2 + 0.055) / 1.055) ** 2.4, 12);
    expect(content.channels[0]).toEqual({ min: 0, mean: 0.5, max: 1 });
    expect(content).toMatchObject({ grey: false, alphaVaries: false, constant: false });
    expect((await measure(2, 2, (x) => [9, 9, 9, x * 200])).content).toMatchObject({ grey: true, alphaVaries: true });
  });

  it('knows a normal map, and what is none', async () => {
    const bumps = await measure(64, 64, (x, y) => {
      const [dx, dy] = [0.4 * Math.sin((x / 8) * Math.PI), 0.4 * Math.sin((y / 8) * Math.PI)];
      const length = Math.hypot(dx, dy, 1);
      return [dx / length, dy / length, 1 / length].map((value) => Math.round((value * 0.5 + 0.5) * 255));
    });
    expect(looksNormal(bumps)).toBe(true);
    const height = await measure(64, 64, (x) => grey(128 + Math.round(100 * Math.sin((x / 8) * Math.PI))));
    expect(looksNormal(height)).toBe(false);
    const map = { sha256: 'a'.repeat(64), widthPx: 64, heightPx: 64 };
    expect(checkMapUse({ ...map, facts: bumps }, 'colour')).toHaveLength(1);
    expect(checkMapUse({ ...map, facts: height }, 'normal')).toHaveLength(1);
    expect(checkMapUse({ ...map, facts: height }, 'roughness')).toEqual([]);
  });

  it('is refused of what cannot be decoded', async () => {
    await expect(measureMap(Buffer.from('not an image'))).rejects.toThrow();
  });
});
