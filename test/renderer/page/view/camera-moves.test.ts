import { describe, expect, it } from 'vitest';
import {
  fitShot,
  getCrop,
  panShot,
  SHOT_LIMITS,
  type Shot,
  turnShot,
  zoomShot,
} from '../../../../renderer/page/view/camera-moves.ts';

const at = (change: Partial<Shot>): Shot => ({ ...fitShot(), ...change });

describe('turning', () => {
  it('goes round, and stays above the floor and below the zenith', () => {
    expect(turnShot(at({ yawDegrees: 170 }), 20, 0).yawDegrees).toBe(-170);
    expect(turnShot(at({ yawDegrees: -170 }), -40, 0).yawDegrees).toBe(150);
    expect(turnShot(at({ yawDegrees: 10 }), 730, 0).yawDegrees).toBe(20);
    expect(turnShot(at({ elevationDegrees: 80 }), 0, 50).elevationDegrees).toBe(90);
    expect(turnShot(at({ elevationDegrees: 10 }), 0, -50).elevationDegrees).toBe(-2);
  });
});

describe('zooming', () => {
  it('keeps what is under the pointer where it is', () => {
    // at zoom 1, a quarter from the left of the view is a quarter of the picture; at zoom 2 around it, the view shows 0.125–0.625
    const next = zoomShot(at({}), 2, { x: 0.25, y: 0.5 });
    expect(next).toMatchObject({ zoom: 2, x: 0.375, y: 0.5 });
    expect(next.x + (0.25 - 0.5) / next.zoom).toBeCloseTo(0.25, 12);
  });

  it('comes back after the same step the other way', () => {
    const start = at({ zoom: 3, x: 0.4, y: 0.7 });
    const back = zoomShot(zoomShot(start, 1.25, { x: 0.9, y: 0.1 }), 0.8, { x: 0.9, y: 0.1 });
    expect(back.zoom).toBeCloseTo(3, 12);
    expect([back.x, back.y]).toEqual([expect.closeTo(0.4, 12), expect.closeTo(0.7, 12)]);
  });

  it('has limits, and moves nothing once it is there', () => {
    expect(zoomShot(at({}), 1e6).zoom).toBe(SHOT_LIMITS.zoom.max);
    expect(zoomShot(at({}), 1e-6).zoom).toBe(SHOT_LIMITS.zoom.min);
    const most = at({ zoom: SHOT_LIMITS.zoom.max, x: 0.3 });
    expect(zoomShot(most, 2, { x: 0, y: 0 })).toEqual(most);
  });
});

describe('moving', () => {
  it('moves the picture with the hand, less of it the more it is enlarged', () => {
    expect(panShot(at({}), 0.1, -0.2)).toMatchObject({ x: 0.4, y: 0.7 });
    expect(panShot(at({ zoom: 2 }), 0.1, 0)).toMatchObject({ x: 0.45 });
  });

  it('keeps the middle of the view in the picture', () => {
    expect(panShot(at({}), 5, -5)).toMatchObject({ x: 0, y: 1 });
  });
});

describe('the part that is drawn', () => {
  it('is the whole picture at first', () => {
    expect(getCrop(at({}), 800, 600)).toEqual({ zoom: 1, left: 0, top: 0 });
  });

  it('is centred on the place in the enlarged picture', () => {
    // the picture is 2400 × 1800 px; a quarter from the left is 600 px, less half a view
    expect(getCrop(at({ zoom: 3, x: 0.25, y: 0.5 }), 800, 600)).toEqual({ zoom: 3, left: 200, top: 600 });
    // at half the size the picture is 400 px wide and stands in the middle
    expect(getCrop(at({ zoom: 0.5 }), 800, 600)).toEqual({ zoom: 0.5, left: -200, top: -150 });
  });
});
