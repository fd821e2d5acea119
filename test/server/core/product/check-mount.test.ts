import { describe, expect, it } from 'vitest';
import type { Mount } from '../../../../server/core/picture/picture.ts';
import { checkMount } from '../../../../server/core/product/check-mount.ts';
import { makeSurvey } from '../../../support/make-survey.ts';

type Vector = readonly [number, number, number];
const look = (mount: Mount, min: Vector, max: Vector, hasUnitSlip = false) =>
  checkMount(mount, { ...makeSurvey([], []), box: { min, max } }, hasUnitSlip);

// Khronos 3D Commerce Asset Creation Guidelines 1.0, pivots: a floor item at its bottom centre, a wall item where it
// touches the wall, a ceiling item at its top; glTF 2.0: +Y is up and the front faces +Z
describe('where a product stands', () => {
  it.each<[Mount, Vector, Vector]>([
    ['floor', [-1, 0, -1], [1, 2, 1]],
    ['table', [-1, 0, -1], [1, 2, 1]],
    ['ceiling', [-1, -2, -1], [1, 0, 1]],
    ['wall', [-1, -5, 0], [1, -3, 2]],
  ])('is right for a %s', (mount, min, max) => {
    expect(look(mount, min, max)).toEqual([]);
  });

  it.each<[Mount, Vector, Vector]>([
    ['floor', [-1, -1, -1], [1, 1, 1]],
    ['table', [-1, -2, -1], [1, 0, 1]],
    ['ceiling', [-1, 0, -1], [1, 2, 1]],
    ['wall', [-1, 0, -2], [1, 2, 0]],
  ])('is wrong for a %s, and is to be placed', (mount, min, max) => {
    expect(look(mount, min, max)).toMatchObject([
      { code: 'off-mount', severity: 'warning', repairs: [{ repair: 'place', mount }] },
    ]);
  });

  it('may be off by 2 mm, or half a per cent of the largest side', () => {
    expect(look('floor', [-0.1, 0.0019, -0.1], [0.1, 0.1, 0.1])).toEqual([]);
    expect(look('floor', [-0.1, 0.0021, -0.1], [0.1, 0.1, 0.1])).toHaveLength(1);
    expect(look('floor', [-1, 0.0099, -1], [1, 1, 1])).toEqual([]);
    expect(look('floor', [-1, 0.0101, -1], [1, 1, 1])).toHaveLength(1);
  });

  it('is told by share alone where the size is in doubt: a chair of 0.82 mm is all within 2 mm', () => {
    const [min, max] = [
      [-0.00025, 0.0004, -0.00025],
      [0.00025, 0.00122, 0.00025],
    ] as const;
    expect(look('floor', min, max, false)).toEqual([]);
    expect(look('floor', min, max, true)).toHaveLength(1);
  });

  it('may be off centre by 5 % of a side; more is a note, beyond the product itself a warning', () => {
    const shifted = (by: number) => look('floor', [-1 + by, 0, -1], [1 + by, 2, 1]);
    expect(shifted(0.09)).toEqual([]);
    expect(shifted(0.2)).toMatchObject([{ severity: 'note', repairs: [{ repair: 'place', mount: 'floor' }] }]);
    expect(shifted(1.2)).toMatchObject([{ severity: 'warning' }]);
  });

  it('is moved sideways only where it is off centre', () => {
    const [raised] = look('floor', [-0.95, 1, -1], [1.05, 3, 1]);
    expect(raised!.repairs).toEqual([{ repair: 'place', mount: 'floor', centred: false }]);
    const [both] = look('floor', [0, 1, -1], [2, 3, 1]);
    expect(both!.repairs).toEqual([{ repair: 'place', mount: 'floor' }]);
  });

  it('is not asked of a model without positions', () => {
    expect(checkMount('floor', makeSurvey([], []), false)).toEqual([]);
    expect(look('floor', [0, 0, 0], [Number.NaN, 1, 1])).toEqual([]);
  });
});
