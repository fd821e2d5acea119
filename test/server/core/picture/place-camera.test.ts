import { describe, expect, it } from 'vitest';
import { estimateCamera, placeCamera } from '../../../../server/core/picture/place-camera.ts';
import { pinholePx } from '../../../support/pinhole.ts';

/** Corners of a 1 m cube centred on the origin. */
const cube = new Float32Array(
  [-0.5, 0.5].flatMap((x) => [-0.5, 0.5].flatMap((y) => [-0.5, 0.5].flatMap((z) => [x, y, z]))),
);
const square = { points: cube, elevationDegrees: 0, widthPx: 1000, heightPx: 1000 };

describe('placing the camera', () => {
  it('fills the frame with the near face of a cube, like an 85 mm pinhole', () => {
    const { distanceM, back } = placeCamera({ ...square, fill: 0.8 });
    expect(distanceM).toBeCloseTo(back, 9);
    expect(pinholePx(1, distanceM - 0.5, 1000)).toBeCloseTo(800, 6);
  });

  it('keeps a given scale in the middle of the framed points', () => {
    const { distanceM, pxPerM } = placeCamera({ ...square, fill: 0.8, pxPerM: 250 });
    expect(pxPerM).toBeCloseTo(250, 9);
    expect(pinholePx(1, distanceM, 1000)).toBeCloseTo(250, 6);
  });

  it('excludes the trimmed border from the frame', () => {
    const { distanceM } = placeCamera({ ...square, fill: 0.8, marginPx: 100 });
    expect(pinholePx(1, distanceM - 0.5, 1000)).toBeCloseTo(640, 6);
  });

  it('has 24 mm on the short side of any shape', () => {
    const wide = placeCamera({ ...square, widthPx: 2000, fill: 0.8 });
    const tall = placeCamera({ ...square, heightPx: 2000, fill: 0.8 });
    expect(pinholePx(1, wide.distanceM - 0.5, 1000)).toBeCloseTo(800, 6);
    expect(pinholePx(1, tall.distanceM - 0.5, 1000)).toBeCloseTo(800, 6);
  });

  it('keeps clear of objects in front of a part and uses a longer lens', () => {
    const knob = cube.map((value) => value * 0.02);
    const { back, tangent, near, pxPerM } = placeCamera({ ...square, points: knob, all: cube, fill: 0.5 });
    expect(back).toBeGreaterThan(0.5);
    expect(near).toBeLessThan(back - 0.5);
    expect(tangent).toBeLessThan(12 / 85);
    // Its near face, 20 mm wide, fills half of the frame.
    const nearPx = (0.02 / (2 * tangent * (back - 0.01))) * 1000;
    expect(nearPx).toBeCloseTo(500, 3);
    expect(pxPerM * 0.02).toBeCloseTo((nearPx * (back - 0.01)) / back, 3);
  });
});

const size = { widthMm: 400, depthMm: 600, heightMm: 800 };
const frame = { size, mount: 'ceiling' as const, widthPx: 1000, heightPx: 1000 };

it('fills the frame with the nearest side of the box, which is its top from above', () => {
  const { distanceM } = estimateCamera({ ...frame, view: 'top' });
  // 600 mm of depth run upwards in the picture; the top is 400 mm nearer than the middle.
  expect(pinholePx(0.6, distanceM - 0.4, 1000)).toBeCloseTo(850, 3);
});

it('makes a product smaller if its ring of floor is in the picture', () => {
  const hangs = estimateCamera({ ...frame, view: 'front' });
  const stands = estimateCamera({ ...frame, mount: 'floor', view: 'front', widthPx: 400 });
  expect(stands.pxPerM).toBeLessThan(hangs.pxPerM);
});

it('states the scale in the middle', () => {
  const { distanceM, pxPerM } = estimateCamera({ ...frame, view: 'side' });
  expect(pxPerM).toBeCloseTo(pinholePx(1, distanceM, 1000), 6);
});
