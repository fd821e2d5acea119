import { describe, expect, it } from 'vitest';
import { missedDegrees, repeatTransform, UVS_IN_METRES } from '../../../../server/core/delivery/repeat-transform.ts';
import { toUvMap } from '../../../../server/core/delivery/uv-map.ts';
import type { UvFrame } from '../../../../server/core/product/survey.ts';

const SQUARE = { widthMm: 200, heightMm: 200 };
const OBLONG = { widthMm: 400, heightMm: 100 };

/** Steps of metres right and down on the surface for one repeat across and one down: the inverse of the map, in metres. */
function stepsOf(tile: typeof SQUARE, lay: UvFrame, grainDegrees: number) {
  const { a, b, c, d } = toUvMap(repeatTransform(tile, lay, grainDegrees));
  const flat = a * d - b * c;
  const [u, v] = [lay.metresPerU, lay.metresPerV];
  return {
    across: [(d / flat) * u, (-c / flat) * v],
    down: [(-b / flat) * u, (a / flat) * v],
  };
}

function expectStep(step: readonly number[], wanted: readonly number[]): void {
  step.forEach((value, i) => {
    expect(value).toBeCloseTo(wanted[i]!, 9);
  });
}

// geometry: a repeat turned counter-clockwise by g, v running down, runs across along (cos g, −sin g) and down along
// (sin g, cos g)
describe('a repeat', () => {
  const drawnOut = { ...UVS_IN_METRES, metresPerU: 3, metresPerV: 0.25 };

  it.each([0, 30, 90, 200])(
    'of equal sides turned by %d° is square and of its size, however UVs are drawn out',
    (g) => {
      const [cos, sin] = [Math.cos((g * Math.PI) / 180), Math.sin((g * Math.PI) / 180)];
      const { across, down } = stepsOf(SQUARE, drawnOut, g);
      expectStep(across, [0.2 * cos, -0.2 * sin]);
      expectStep(down, [0.2 * sin, 0.2 * cos]);
    },
  );

  it.each([
    [0, [0.4, 0], [0, 0.1]],
    [90, [0, -0.4], [0.1, 0]],
    [180, [-0.4, 0], [0, -0.1]],
    // what no transform can say goes to the nearest quarter
    [60, [0, -0.4], [0.1, 0]],
    [-20, [0.4, 0], [0, 0.1]],
  ] as const)('of other sides turned by %d° has both, too', (g, wantedAcross, wantedDown) => {
    const { across, down } = stepsOf(OBLONG, drawnOut, g);
    expectStep(across, wantedAcross);
    expectStep(down, wantedDown);
  });

  it('turns with what the part’s own map is turned by, and with the tile’s own direction', () => {
    const tile = { ...SQUARE, grainDegrees: 20 };
    const { across } = stepsOf(tile, { ...drawnOut, turnDegrees: 350 }, 30);
    expectStep(across, [0.2 * Math.cos((40 * Math.PI) / 180), -0.2 * Math.sin((40 * Math.PI) / 180)]);
    expect(repeatTransform(tile, { ...drawnOut, turnDegrees: 310 }, 30).rotation).toBeUndefined();
  });
});

// scale before turn (KHR_texture_transform, T · R · S) shears an oblong repeat at all but quarter turns
it.each([
  [SQUARE, 30, 0, 0],
  [OBLONG, 90, 0, 0],
  [OBLONG, 30, 0, 30],
  [OBLONG, 60, 0, 30],
  [OBLONG, 350, 0, 10],
  [OBLONG, 20, 60, 10],
])('a repeat of %o at %i° on a part that is turned by %i° misses its direction by %i°', (tile, grain, turn, missed) => {
  expect(missedDegrees(tile, { turnDegrees: turn }, grain)).toBeCloseTo(missed, 9);
});
