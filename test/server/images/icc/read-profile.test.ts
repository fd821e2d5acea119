import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { readProfile } from '../../../../server/images/icc/read-profile.ts';
import {
  ADOBE_RGB,
  makeGamma,
  makeGreyProfile,
  makeProfile,
  makeRgbProfile,
  makeTableProfile,
} from '../../../support/icc.ts';

describe('an ICC profile', () => {
  it('of a matrix is read with the colorants that Adobe published', () => {
    const { name, colour } = readProfile(makeRgbProfile(ADOBE_RGB));
    expect(name).toBe('Adobe RGB (1998)');
    if (colour.kind !== 'matrix') throw new Error('not a matrix');
    // Adobe RGB (1998) Color Image Encoding, version 2005-05: the matrix to XYZ under D50
    const published = [
      [0.60974, 0.31111, 0.01947],
      [0.20528, 0.62567, 0.06087],
      [0.14919, 0.06322, 0.74457],
    ];
    published.flat().forEach((value, i) => {
      expect(Math.abs(colour.toXyz.flat()[i]! - value)).toBeLessThanOrEqual(2e-4);
    });
    expect(colour.curves.map((curve) => curve(0.5))).toEqual([0, 1, 2].map(() => 0.5 ** (563 / 256)));
  });

  it('of version 4 has its name in Unicode', async () => {
    const image = sharp({ create: { width: 1, height: 1, channels: 3, background: '#fff' } });
    const { icc } = await sharp(await image.withIccProfile('p3').png().toBuffer()).metadata();
    // the library’s own Display P3 calls itself so
    expect(readProfile(icc!)).toMatchObject({ name: 'sP3C', colour: { kind: 'matrix' } });
  });

  it('of grey is one curve; of tables it is left to others', () => {
    expect(readProfile(makeGreyProfile('Dot gain', makeGamma(1.75)))).toMatchObject({
      name: 'Dot gain',
      colour: { kind: 'grey' },
    });
    expect(readProfile(makeTableProfile({ ...ADOBE_RGB, name: 'Scanner' }))).toEqual({
      name: 'Scanner',
      colour: { kind: 'other' },
    });
  });

  it('that is damaged, empty or without what it needs is never an error', () => {
    const whole = makeRgbProfile(ADOBE_RGB);
    for (let length = 0; length < whole.length; length += 7)
      expect(() => readProfile(whole.subarray(0, length))).not.toThrow();
    expect(readProfile(Buffer.from('no profile'))).toEqual({ name: null, colour: { kind: 'other' } });
    expect(readProfile(makeProfile('RGB ', []))).toEqual({ name: null, colour: { kind: 'other' } });
  });
});
