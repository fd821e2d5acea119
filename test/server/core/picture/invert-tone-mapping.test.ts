import { describe, expect, it } from 'vitest';
import { invertToneMapping } from '../../../../server/core/picture/invert-tone-mapping.ts';
import { toneNeutral } from '../../../support/pbr-neutral.ts';

describe('inverting the tone curve', () => {
  it.each([
    [0, 0, 0],
    [0.01, 0.01, 0.01],
    [0.03, 0.2, 0.5],
    [0.08, 0.08, 0.08],
    [0.18, 0.18, 0.18],
    [0.5, 0.1, 0.02],
    [0.8, 0.8, 0.8],
    [1.1, 0.84, 0.37],
    [0.2, 0.9, 1.4],
    [3, 3, 3],
  ] as const)('gives back %f %f %f, which the published curve was given', (...light) => {
    invertToneMapping(toneNeutral(light)).forEach((value, channel) => {
      expect(value).toBeCloseTo(light[channel]!, 6);
    });
  });

  it('agrees with the published curve’s figures: black stays black, and 0.76 was 0.8', () => {
    expect(invertToneMapping([0, 0, 0])).toEqual([0, 0, 0]);
    expect(invertToneMapping([0.7599, 0.7599, 0.7599])[0]).toBeCloseTo(0.7999, 9);
  });
});
