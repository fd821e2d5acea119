import { describe, expect, it } from 'vitest';
import { DisjointSets, USED, weldPoints } from '../../../../../server/gltf/geometry/pieces/weld-points.ts';
import { createRandom } from '../../../../support/random.ts';

/** Groups of points as lists of their numbers. */
function weld(points: readonly (readonly number[])[], tolerance: number, unused: readonly number[] = []): string[] {
  const sets = new DisjointSets(points.length);
  const marks = new Uint8Array(points.length).fill(USED);
  for (const at of unused) marks[at] = 0;
  weldPoints(new Float32Array(points.flat()), marks, 0, points.length, tolerance, sets);
  const groups = new Map<number, number[]>();
  for (const [point, leader] of sets.listLeaders().entries()) {
    const group = groups.get(leader);
    if (group) group.push(point);
    else groups.set(leader, [point]);
  }
  return [...groups.values()].map((group) => group.join(' '));
}

/** Every pair is compared: what welding means, without a grid. */
function weldByPairs(points: readonly (readonly number[])[], tolerance: number): string[] {
  const single = points.map((point) => point.map(Math.fround));
  const group = points.map((_, at) => at);
  for (const [a, p] of single.entries()) {
    for (const [b, q] of single.entries()) {
      if (Math.hypot(...p.map((value, axis) => value - q[axis]!)) > tolerance || group[a] === group[b]) continue;
      const [low, high] = [Math.min(group[a]!, group[b]!), Math.max(group[a]!, group[b]!)];
      for (const [at, own] of group.entries()) if (own === high) group[at] = low;
    }
  }
  return [...new Set(group)].map((own) => group.flatMap((other, at) => (other === own ? at : [])).join(' '));
}

describe('weldPoints', () => {
  // The outside source is the definition: nearness, and whatever it leads to, counted over all pairs.
  it('joins what a look at every pair joins, about zero and across the walls of cells', () => {
    const random = createRandom(11);
    for (let round = 0; round < 20; round++) {
      // groups of four about as far apart as the tolerance, so that some are near, some a chain, and some are not
      const points = Array.from({ length: 50 }, () => [0, 1, 2].map(() => (random.next() - 0.5) * 100)).flatMap(
        (middle) => [0, 1, 2, 3].map(() => middle.map((value) => value + random.next() * 1.4)),
      );
      expect(weld(points, 1)).toEqual(weldByPairs(points, 1));
    }
  });

  it('joins the ends of a chain in whatever order its links come', () => {
    const link = (at: number) => [at * 0.8, 0, 0];
    for (const order of [
      [0, 1, 2],
      [1, 0, 2],
      [0, 2, 1],
      [2, 1, 0],
    ]) {
      expect(weld(order.map(link), 1)).toEqual(['0 1 2']);
    }
    expect(weld([link(0), link(2)], 1)).toEqual(['0', '1']);
  });

  it('leaves points that nothing uses as they are, even between two that are', () => {
    expect(
      weld(
        [0, 1, 2].map((at) => [at * 0.8, 0, 0]),
        1,
        [1],
      ),
    ).toEqual(['0', '1', '2']);
  });

  it('comes to an end where all points crowd into a few cells', () => {
    const random = createRandom(5);
    const points = Array.from({ length: 30_000 }, () => [random.next(), random.next(), random.next()]);
    // so dense that everything hangs together
    expect(weld(points, 0.2)).toHaveLength(1);
  });
});
