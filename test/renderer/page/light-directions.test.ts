import { describe, expect, it } from 'vitest';
import { listLightDirections } from '../../../renderer/page/light-directions.ts';
import { getRadiance, SOFTBOXES } from '../../../renderer/page/softboxes.ts';
import { getOffset } from '../../../renderer/page/subsamples.ts';
import { toneGrey, untoneGrey } from '../../../renderer/page/tone.ts';

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

  it('stand for equal shares of light: their mean is the mean direction of the light', () => {
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
  it('shows every softbox where it is said to be: the key at the camera’s left, above', () => {
    const key = SOFTBOXES.find(({ name }) => name === 'key')!;
    expect(key.azimuthDegrees).toBeLessThan(0);
    expect(getRadiance(-0.57, 0.643, 0.513)).toBeCloseTo(key.radiance, 2);
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

describe('the tone curve of greys', () => {
  it('has an inverse', () => {
    for (const value of [0.001, 0.03, 0.08, 0.18, 0.5, 0.8, 1, 3])
      expect(untoneGrey(toneGrey(value))).toBeCloseTo(value, 9);
  });
});
