import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { readProfile, readToneCurve } from '../../../server/images/read-icc-profile.ts';
import {
  ADOBE_RGB,
  makeGamma,
  makeGreyProfile,
  makeParametric,
  makeProfile,
  makeRgbProfile,
  makeTable,
  makeTableProfile,
} from '../../support/icc.ts';

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

const at = (element: Buffer, ...codes: readonly number[]) => codes.map(readToneCurve(element));

describe('a tone curve', () => {
  it('of no entry is the identity, of one entry a gamma in 256ths (ICC.1:2022 §10.6)', () => {
    const identity = Buffer.alloc(12);
    identity.write('curv');
    expect(at(identity, 0, 0.3, 1)).toEqual([0, 0.3, 1]);
    expect(at(makeGamma(563 / 256), 0.5)[0]).toBeCloseTo(0.5 ** (563 / 256), 12);
  });

  it('of more entries goes straight from one to the next, its ends included', () => {
    const table = makeTable(3, (code) => [0, 0.2, 1][code * 2]!);
    const [zero, quarter, half, most, one] = at(table, 0, 0.25, 0.5, 0.75, 1);
    expect([zero, one]).toEqual([0, 1]);
    expect(quarter).toBeCloseTo(0.1, 5);
    expect(half).toBeCloseTo(0.2, 5);
    expect(most).toBeCloseTo(0.6, 5);
  });

  // ICC.1:2022 §10.18, table 68, with numbers that are whole in s15Fixed16
  it.each([
    ['0: Xᵍ', makeParametric(0, 2), [0.25, 0.5625]],
    ['1: (aX + b)ᵍ from −b/a on, else 0', makeParametric(1, 2, 2, -1.25), [0, 0.0625]],
    ['2: (aX + b)ᵍ + c from −b/a on, else c', makeParametric(2, 2, 2, -1.25, 0.125), [0.125, 0.1875]],
    ['3: (aX + b)ᵍ from d on, else cX', makeParametric(3, 2, 1, 0, 0.5, 0.75), [0.25, 0.5625]],
    ['4: (aX + b)ᵍ + e from d on, else cX + f', makeParametric(4, 2, 1, 0, 0.5, 0.75, 0.25, 0.125), [0.375, 0.8125]],
  ])('of kind %s', (_, element, expected) => {
    expect(at(element, 0.5, 0.75)).toEqual(expected);
  });

  it('of another type, or cut short, is an error', () => {
    expect(() => readToneCurve(Buffer.from('text\0\0\0\0'))).toThrow(RangeError);
    expect(() => readToneCurve(makeTable(100, (code) => code).subarray(0, 60))).toThrow(RangeError);
    expect(() => readToneCurve(makeParametric(9, 1))).toThrow(RangeError);
  });
});
