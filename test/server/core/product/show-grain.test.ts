import { describe, expect, it } from 'vitest';
import { showGrain } from '../../../../server/core/product/show-grain.ts';

/** The mark of steps in U and V that are the same all over. */
function markOf([ux, uy]: readonly [number, number], [vx, vy]: readonly [number, number]) {
  return {
    uu: [ux * ux, ux * uy, uy * uy],
    uv: [2 * ux * vx, ux * vy + uy * vx, 2 * uy * vy],
    vv: [vx * vx, vx * vy, vy * vy],
  } as const;
}

// the direction at g degrees is U sin g + V cos g, so with one U and V all over its angle is known
describe('a direction in a view', () => {
  it.each([
    [
      [1, 0],
      [0, -1],
    ],
    [
      [-1, 0],
      [0, -1],
    ],
    [
      [0.6, 0.8],
      [0.8, -0.6],
    ],
    [
      [1.4, 0.1],
      [0.3, -0.7],
    ],
  ] as const)('of steps %j and %j is that of their sum', (u, v) => {
    for (let degrees = 0; degrees < 360; degrees += 15) {
      const angle = (degrees * Math.PI) / 180;
      const [x, y] = [0, 1].map((k) => u[k]! * Math.sin(angle) + v[k]! * Math.cos(angle)) as [number, number];
      const shown = showGrain(markOf(u, v), degrees)!;
      const away = ((shown.degrees - (Math.atan2(y, x) * 180) / Math.PI) * Math.PI) / 180;
      // the same axis, whichever end
      expect(Math.abs(Math.sin(away))).toBeLessThan(1e-9);
      expect(shown.agreement).toBeCloseTo(1, 9);
      expect(shown.degrees).toBeGreaterThanOrEqual(0);
      expect(shown.degrees).toBeLessThan(180);
    }
  });

  it('agrees with nothing where every direction is as good, and is none without steps', () => {
    expect(showGrain({ uu: [1, 0, 1], uv: [0, 0, 0], vv: [1, 0, 1] }, 40)!.agreement).toBeCloseTo(0, 9);
    expect(showGrain({ uu: [0, 0, 0], uv: [0, 0, 0], vv: [0, 0, 0] }, 40)).toBeNull();
  });
});
