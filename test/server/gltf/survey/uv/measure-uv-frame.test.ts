import { describe, expect, it } from 'vitest';
import { AreaQuantiles } from '../../../../../server/gltf/survey/uv/measure-uv-frame.ts';
import { createRandom } from '../../../../support/random.ts';

const collect = (values: readonly (readonly [value: number, area: number])[]) => {
  const quantiles = new AreaQuantiles();
  for (const [value, area] of values) quantiles.add(Math.log(value), area);
  return quantiles;
};

// against values sorted and added up
describe('quantiles by area', () => {
  it('are those of sorted values, to half a per cent', () => {
    const random = createRandom(7);
    const values = Array.from({ length: 5000 }, () => [10 ** (4 * random.next() - 2), random.next()] as const);
    const quantiles = collect(values);
    const sorted = [...values].sort(([a], [b]) => a - b);
    const whole = sorted.reduce((sum, [, area]) => sum + area, 0);
    for (const share of [0.05, 0.5, 0.95]) {
      let below = 0;
      const [wanted] = sorted.find(([, area]) => (below += area) > share * whole)!;
      expect(Math.abs(quantiles.find(share) / wanted - 1)).toBeLessThan(0.006);
    }
    const beyond = values.filter(([value]) => value > 1.1 || value < 1 / 1.1).reduce((sum, [, area]) => sum + area, 0);
    expect(quantiles.shareBeyond(1, 1.1)).toBeCloseTo(beyond / whole, 2);
  });

  it('are exact where values are alike, and between two where half has each', () => {
    expect(collect([[0.3, 2]]).find(0.5)).toBeCloseTo(0.3, 14);
    expect(
      collect([
        [0.3, 2],
        [7, 1.9],
      ]).find(0.5),
    ).toBeCloseTo(0.3, 14);
    expect(
      collect([
        [1, 2],
        [4, 2],
      ]).find(0.5),
    ).toBeCloseTo(2, 12);
  });

  it('are nothing of nothing, and hold what is beyond all measure at the ends', () => {
    expect(new AreaQuantiles().isEmpty).toBe(true);
    expect(new AreaQuantiles().find(0.5)).toBeNaN();
    expect(collect([[1e-30, 1]]).isEmpty).toBe(false);
  });
});
