import { expect, it } from 'vitest';
import { estimateCamera } from '../../../../server/core/picture/estimate-camera.ts';
import { pinholePx } from '../../../support/pinhole.ts';

const size = { widthMm: 400, depthMm: 600, heightMm: 800 };
const frame = { size, mount: 'ceiling' as const, widthPx: 1000, heightPx: 1000 };

it('fills the frame with the side of the box that is nearest: from above its top', () => {
  const { distanceM } = estimateCamera({ ...frame, view: 'top' });
  // 600 mm of depth are up in the picture; the top is 400 mm nearer than the middle
  expect(pinholePx(0.6, distanceM - 0.4, 1000)).toBeCloseTo(850, 3);
});

it('sees less of a product whose ring of floor is in the picture', () => {
  const hangs = estimateCamera({ ...frame, view: 'front' });
  const stands = estimateCamera({ ...frame, mount: 'floor', view: 'front', widthPx: 400 });
  expect(stands.pxPerM).toBeLessThan(hangs.pxPerM);
});

it('states the scale in the middle', () => {
  const { distanceM, pxPerM } = estimateCamera({ ...frame, view: 'side' });
  expect(pxPerM).toBeCloseTo(pinholePx(1, distanceM, 1000), 6);
});
