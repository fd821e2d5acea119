import { describe, expect, it } from 'vitest';
import { getOffset } from '../../../renderer/page/camera.ts';
import { listLightDirections } from '../../../renderer/page/light-directions.ts';
import { getRadiance, getScreenedRadiance, SOFTBOXES } from '../../../renderer/page/softboxes.ts';

describe('light directions', () => {
  it('point above the horizon, all different, the same every time', () => {
    const directions = listLightDirections(128);
    for (const { x, y, z } of directions) {
      expect(y).toBeGreaterThan(0);
      expect(Math.hypot(x, y, z)).toBeCloseTo(1, 9);
    }
    expect(new Set(directions.map((direction) => direction.toArray().join())).size).toBe(128);
    expect(listLightDirections(128)).toEqual(directions);
  });

  it('have equal shares of light: their mean is the mean direction of the light', () => {
    const wanted = [0, 0, 0];
    let power = 0;
    for (let row = 0; row < 200; row++) {
      for (let column = 0; column < 400; column++) {
        const [y, azimuth] = [(row + 0.5) / 200, ((column + 0.5) / 400) * 2 * Math.PI];
        const ring = Math.sqrt(1 - y * y);
        const direction = [ring * Math.sin(azimuth), y, ring * Math.cos(azimuth)] as const;
        const radiance = getRadiance(...direction);
        power += radiance;
        direction.forEach((value, axis) => {
          wanted[axis]! += value * radiance;
        });
      }
    }
    const mean = [0, 0, 0];
    for (const direction of listLightDirections(128)) {
      direction.toArray().forEach((value, axis) => {
        mean[axis]! += value / 128;
      });
    }
    wanted.forEach((value, axis) => {
      expect(mean[axis]).toBeCloseTo(value / power, 1);
    });
  });
});

describe('the light', () => {
  it('shows every softbox at its stated place: the key at the camera’s left, above', () => {
    const key = SOFTBOXES.find(({ name }) => name === 'key')!;
    expect(key.azimuthDegrees).toBeLessThan(0);
    expect(getRadiance(-0.57, 0.643, 0.513)).toBeCloseTo(key.radiance, 2);
  });

  // A Lambertian card reflects irradiance / π, the mean of the radiance weighted by cosine.
  it('has a screen around the lens with nine tenths of the radiance of a white card that faces the camera', () => {
    let [sum, weight] = [0, 0];
    for (let row = 0; row < 200; row++) {
      for (let column = 0; column < 400; column++) {
        const [y, azimuth] = [((row + 0.5) / 200) * 2 - 1, ((column + 0.5) / 400 - 0.5) * Math.PI];
        const ring = Math.sqrt(1 - y * y);
        const [x, z] = [ring * Math.sin(azimuth), ring * Math.cos(azimuth)];
        sum += z * getScreenedRadiance(x, y, z);
        weight += z;
      }
    }
    const share = getScreenedRadiance(0, 0, 1) / (sum / weight);
    expect(share).toBeGreaterThan(0.9);
    expect(share).toBeLessThan(0.95);
  });

  it('is brighter with the screen in front, and unchanged behind, overhead, underneath and in the key', () => {
    for (const [x, y, z] of [
      [0, 0, -1],
      [0, 1, 0],
      [-0.57, 0.643, 0.513],
      [0, -1, 0],
    ] as const) {
      expect(getScreenedRadiance(x, y, z)).toBeCloseTo(getRadiance(x, y, z), 9);
    }
    for (const [y, z] of [
      [0.3, 0.95],
      [-0.3, 0.95],
    ] as const) {
      expect(getScreenedRadiance(0, y, z)).toBeGreaterThan(getRadiance(0, y, z));
    }
  });
});

describe('subsamples', () => {
  it('have one point in each of sixteen rows and columns of the pixel', () => {
    const offsets = Array.from({ length: 16 }, (_, index) => getOffset(index));
    for (const axis of ['x', 'y'] as const) {
      const cells = offsets.map((offset) => Math.floor((offset[axis] + 0.5) * 16));
      expect(cells.sort((a, b) => a - b)).toEqual(Array.from({ length: 16 }, (_, cell) => cell));
    }
  });
});
