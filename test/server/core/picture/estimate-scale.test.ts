import { expect, it } from 'vitest';
import { estimateScale } from '../../../../server/core/picture/estimate-scale.ts';

const size = { widthMm: 400, depthMm: 600, heightMm: 800 };

it('is the frame’s share over what is seen of the box: its own sides from the side and from above', () => {
  const square = { size, widthPx: 1000, heightPx: 1000 };
  // from above: 400 across, 600 up
  expect(estimateScale({ ...square, view: 'top' })).toBeCloseTo(0.85 * (1000 / 600), 9);
  // from the side, five degrees up: 600 across, and 800 cos 5° + 400 sin 5° up
  const up = 800 * Math.cos(Math.PI / 36) + 400 * Math.sin(Math.PI / 36);
  expect(estimateScale({ ...square, view: 'side' })).toBeCloseTo(0.85 * (1000 / up), 9);
});

it('follows the tighter direction of the frame', () => {
  expect(estimateScale({ size, view: 'top', widthPx: 100, heightPx: 1000 })).toBeCloseTo(0.85 * (100 / 400), 9);
});
