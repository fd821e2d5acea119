import { PerspectiveCamera, Vector3 } from 'three';
import { describe, expect, it } from 'vitest';
import { frameView } from '../../../renderer/page/camera.ts';

/** A cloud of points that is asymmetric in every direction. */
const points = new Float32Array(
  Array.from({ length: 60 }, (_, index) => [
    Math.sin(index * 1.7) * 0.4 + 1,
    (index % 7) * 0.2,
    Math.cos(index * 2.3) * 0.3 - 2,
  ]).flat(),
);

describe('framing', () => {
  for (const elevationDegrees of [0, 5, 12, 90]) {
    for (const aspect of [1, 1.5, 0.6]) {
      it(`fits tightly and in the middle from ${elevationDegrees}° at ${aspect}:1`, () => {
        const camera = new PerspectiveCamera();
        frameView(camera, { points, elevationDegrees, widthPx: aspect * 1000, heightPx: 1000, fill: 0.85 });
        const edges = { left: 1, right: -1, down: 1, up: -1 };
        for (let at = 0; at < points.length; at += 3) {
          const place = new Vector3().fromArray(points, at).project(camera);
          edges.left = Math.min(edges.left, place.x);
          edges.right = Math.max(edges.right, place.x);
          edges.down = Math.min(edges.down, place.y);
          edges.up = Math.max(edges.up, place.y);
          expect(Math.abs(place.z)).toBeLessThan(1);
        }
        expect(Math.max(edges.right - edges.left, edges.up - edges.down) / 2).toBeCloseTo(0.85, 2);
        expect(edges.left + edges.right).toBeCloseTo(0, 2);
        expect(edges.down + edges.up).toBeCloseTo(0, 2);
      });
    }
  }

  it('uses an 85 mm lens on the short side', () => {
    const camera = new PerspectiveCamera();
    frameView(camera, { points, elevationDegrees: 0, widthPx: 1500, heightPx: 1000, fill: 0.85 });
    expect(Math.tan((camera.fov * Math.PI) / 360)).toBeCloseTo(12 / 85, 9);
  });
});
