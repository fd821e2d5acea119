import { describe, expect, it } from 'vitest';
import { findPrincipalAxis, type Symmetric } from '../../../../../server/gltf/survey/geometry/measure-pieces.ts';
import { createRandom } from '../../../../support/random.ts';

// eigenvectors of a symmetric matrix: M = Q diag(λ) Qᵀ is put together from what must be found again
describe('the principal axis', () => {
  it('is the one a covariance was put together from, and its elongation the root of the ratio', () => {
    const random = createRandom(3);
    for (let i = 0; i < 200; i++) {
      const axes = makeFrame(random.next() * 7, random.next() * 7, random.next() * 7);
      const [c, b] = [0.1 + random.next(), 1.2 + random.next()];
      const a = b * (1.1 + random.next() * 5);
      const at = (i: number, j: number) =>
        a * axes[0]![i]! * axes[0]![j]! + b * axes[1]![i]! * axes[1]![j]! + c * axes[2]![i]! * axes[2]![j]!;
      const covariance: Symmetric = [at(0, 0), at(0, 1), at(0, 2), at(1, 1), at(1, 2), at(2, 2)];
      const { axis, elongation } = findPrincipalAxis(covariance);
      const along = axis.reduce((sum, value, k) => sum + value * axes[0]![k]!, 0);
      expect(Math.abs(along)).toBeCloseTo(1, 9);
      expect(elongation).toBeCloseTo(Math.sqrt(a / b), 9);
    }
  });

  it.each<[string, Symmetric, number]>([
    ['a point', [0, 0, 0, 0, 0, 0], 1],
    ['a line', [1, 0, 0, 0, 0, 0], 1e6],
    ['a ball', [1, 0, 0, 1, 0, 1], 1],
    ['a disc', [4, 0, 0, 4, 0, 1], 1],
  ])('of %s has an elongation too', (_, covariance, expected) => {
    const { axis, elongation } = findPrincipalAxis(covariance);
    expect(elongation).toBe(expected);
    expect(Math.hypot(...axis)).toBeCloseTo(1, 12);
  });
});

/** Three axes at right angles, turned by three angles. */
function makeFrame(x: number, y: number, z: number): number[][] {
  const turn = (v: number[], i: number, j: number, angle: number) => {
    const out = [...v];
    out[i] = v[i]! * Math.cos(angle) - v[j]! * Math.sin(angle);
    out[j] = v[i]! * Math.sin(angle) + v[j]! * Math.cos(angle);
    return out;
  };
  return [
    [1, 0, 0],
    [0, 1, 0],
    [0, 0, 1],
  ].map((axis) => turn(turn(turn(axis, 0, 1, z), 0, 2, y), 1, 2, x));
}
