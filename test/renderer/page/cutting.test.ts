import { describe, expect, it } from 'vitest';
import { CLOTH_SIDE, createDrape } from '../../../renderer/page/cutting.ts';

describe('the draped cloth', () => {
  const { positions, uvs, indices } = createDrape();
  const read = (array: Float32Array, size: number, at: number) => [...array.subarray(at * size, at * size + size)];
  const distance = (a: number[], b: number[]) => Math.hypot(...a.map((value, axis) => value - b[axis]!));

  it('is as large as the original cloth, in metres, with its UVs on the cloth', () => {
    expect(Math.min(...uvs)).toBeGreaterThanOrEqual(0);
    expect(Math.max(...uvs)).toBeLessThanOrEqual(CLOTH_SIDE + 1e-6);
    expect(Math.max(...uvs)).toBeGreaterThan(CLOTH_SIDE * 0.99);
  });

  it('bends and hardly stretches, which keeps the scale of a pattern', () => {
    const stretches: number[] = [];
    for (let at = 0; at < indices.length; at += 3) {
      for (const [from, to] of [
        [0, 1],
        [1, 2],
      ] as const) {
        const [a, b] = [indices[at + from]!, indices[at + to]!];
        const flat = distance(read(uvs, 2, a), read(uvs, 2, b));
        if (flat > 1e-6) stretches.push(distance(read(positions, 3, a), read(positions, 3, b)) / flat);
      }
    }
    stretches.sort((a, b) => a - b);
    const at = (share: number) => stretches[Math.floor(share * (stretches.length - 1))]!;
    // Cloth shears where folds run out, as real cloth does on the bias.
    expect(Math.abs(at(0.5) - 1)).toBeLessThan(0.02);
    expect(at(0.05)).toBeGreaterThan(0.8);
    expect(at(0.95)).toBeLessThan(1.25);
  });

  it('rests on the floor, in folds, and has no torn or empty triangle', () => {
    const heights = positions.filter((_, at) => at % 3 === 1);
    expect(Math.min(...heights)).toBeCloseTo(0, 3);
    expect(Math.max(...heights)).toBeGreaterThan(0.02);
    expect(positions.every(Number.isFinite)).toBe(true);
    for (let at = 0; at < indices.length; at += 3) {
      const [a, b, c] = [0, 1, 2].map((corner) => read(positions, 3, indices[at + corner]!));
      expect(Math.max(distance(a!, b!), distance(b!, c!), distance(c!, a!))).toBeLessThan(0.012);
    }
  });
});
