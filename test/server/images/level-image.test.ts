import { differenceCiede2000 } from 'culori';
import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { levelMap, makeLevelTables } from '../../../server/core/finish/level-map.ts';
import { countCodes } from '../../../server/images/measure-pixels.ts';
import { readPixels } from '../../../server/images/read-pixels.ts';
import { levelImage } from '../../../server/images/remake-map.ts';
import { createRandom } from '../../support/random.ts';

const SIDE_PX = 96;
const raw = { width: SIDE_PX, height: SIDE_PX } as const;

/** IEC 61966-2-1, decoding, written out here once more. */
const linear = (code: number) => {
  const value = code / 255;
  return value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4;
};

/** A dark cloth with soft grain, as scanners see it. */
function makeScan(channels: 3 | 4): Buffer {
  const { next } = createRandom(3);
  const data = Buffer.alloc(SIDE_PX * SIDE_PX * channels);
  for (let i = 0; i < data.length; i += channels) {
    const texel = i / channels;
    const weave = 1 + 0.3 * Math.sin((texel % SIDE_PX) / 3) * Math.sin(texel / SIDE_PX / 3) + 0.1 * next();
    [70, 60, 52].forEach((code, c) => {
      data[i + c] = Math.round(code * weave);
    });
    if (channels === 4) data[i + 3] = texel % 2 === 0 ? 255 : 30;
  }
  return data;
}

/** Area mean of factor × map as sharp decodes it. */
async function meanOf(image: Uint8Array, factor: readonly number[]) {
  const { data, info } = await sharp(image).raw().toBuffer({ resolveWithObject: true });
  const sums = [0, 0, 0];
  for (let i = 0; i < data.length; i += info.channels) for (const c of [0, 1, 2]) sums[c]! += linear(data[i + c]!);
  const [r, g, b] = sums.map((sum, c) => (factor[c]! * sum) / (data.length / info.channels));
  return { mode: 'lrgb', r: r!, g: g!, b: b! };
}

describe('a colour map that is re-encoded', () => {
  it.each(['jpeg', 'png', 'webp'] as const)('from %s has the mean that was planned, by culori', async (format) => {
    const image = await sharp(makeScan(3), { raw: { ...raw, channels: 3 } })
      .toFormat(format, { quality: 90 })
      .toBuffer();
    const counts = countCodes(await readPixels(image));
    for (const target of [
      [0.25, 0.3, 0.2],
      [0.7, 0.62, 0.5],
    ] as const) {
      const { contrast, factor } = levelMap(target, counts);
      expect(contrast).not.toBeNull();
      const made = await levelImage(image, makeLevelTables(counts, contrast!));
      expect(made.mimeType).toBe(format === 'jpeg' ? 'image/jpeg' : 'image/png');
      const [r, g, b] = target;
      const off = differenceCiede2000()({ mode: 'lrgb', r, g, b }, await meanOf(made.bytes, factor));
      expect(off).toBeLessThan(0.2);
    }
  });

  it('keeps its alpha, and comes out the same each time', async () => {
    const image = await sharp(makeScan(4), { raw: { ...raw, channels: 4 } })
      .png()
      .toBuffer();
    const tables = makeLevelTables(countCodes(await readPixels(image)), 1);
    const { bytes } = await levelImage(image, tables);
    const alpha = await sharp(bytes).extractChannel('alpha').raw().toBuffer();
    expect([...alpha.subarray(0, 4)]).toEqual([255, 30, 255, 30]);
    expect((await levelImage(image, tables)).bytes).toEqual(bytes);
  });
});
