import { describe, expect, it } from 'vitest';
import { gaussLegendre } from '../../../../server/core/gloss/gloss-integral.ts';

describe('Gauss–Legendre quadrature', () => {
  // Abramowitz and Stegun, table 25.4
  it('has the published nodes and weights for two and three points', () => {
    const two = gaussLegendre(2);
    expect(two.nodes[0]).toBeCloseTo(1 / Math.sqrt(3), 14);
    expect(two.weights[0]).toBeCloseTo(1, 14);
    const three = gaussLegendre(3);
    expect(three.nodes[0]).toBeCloseTo(Math.sqrt(0.6), 14);
    expect(three.weights[0]).toBeCloseTo(5 / 9, 14);
    expect(three.weights[1]).toBeCloseTo(8 / 9, 14);
  });

  it.each([8, 40])('is exact up to degree 2n − 1: x to the 14th with %d points', (count) => {
    const { nodes, weights } = gaussLegendre(count);
    const sum = nodes.reduce((total, node, index) => total + weights[index]! * node ** 14, 0);
    expect(sum).toBeCloseTo(2 / 15, 13);
  });
});
