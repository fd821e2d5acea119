import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { readJpegQuality } from '../../../server/images/read-header.ts';
import { makeNoisePng } from '../../support/build-model.ts';

// The registry package sharp writes JPEG with the tables of ITU-T T.81 Annex K scaled as the Independent JPEG Group's
// library does, unless it is asked to optimise them.
describe('the quality a JPEG was written with', () => {
  it.each([1, 10, 30, 50, 75, 80, 85, 90, 95, 100])('comes back at %i', async (quality) => {
    const png = await makeNoisePng(2, 32);
    expect(readJpegQuality(await sharp(png).jpeg({ quality, mozjpeg: false }).toBuffer())).toBe(quality);
  });

  it('comes back of grey and of progressive files too', async () => {
    const png = await makeNoisePng(3, 32);
    const progressive = await sharp(png).jpeg({ quality: 70, progressive: true }).toBuffer();
    const grey = await sharp(png).toColourspace('b-w').jpeg({ quality: 60 }).toBuffer();
    expect([readJpegQuality(progressive), readJpegQuality(grey)]).toEqual([70, 60]);
  });

  it('is near for tables of another making', async () => {
    const png = await makeNoisePng(4, 32);
    for (const quality of [40, 75, 92]) {
      const estimate = readJpegQuality(await sharp(png).jpeg({ quality, quantisationTable: 3 }).toBuffer());
      expect(Math.abs(estimate! - quality)).toBeLessThanOrEqual(15);
    }
  });

  it('is not known of a file without tables', () => {
    expect(readJpegQuality(Buffer.from([0xff, 0xd8, 0xff, 0xd9]))).toBeNull();
    expect(readJpegQuality(Buffer.from([0xff, 0xd8, 0xff, 0xdb, 0x00]))).toBeNull();
  });
});
