import { converter, differenceCiede2000 } from 'culori';
import { describe, expect, it } from 'vitest';
import { fitToGamut } from '../../../../server/core/colour/gamut.ts';
import { deltaE2000, type Lab, labToLinear, linearToLab } from '../../../../server/core/colour/lab.ts';
import { hexToLinear } from '../../../../server/core/colour/srgb.ts';
import { resolveFinish } from '../../../../server/core/finish/resolve-finish.ts';
import { createRandom } from '../../../support/random.ts';

// a base colour outside 0–1 is outside the range of baseColorFactor: KhronosGroup/glTF 77b44be,
// specification/2.0/schema/material.pbrMetallicRoughness.schema.json (items: minimum 0, maximum 1)
describe('fitting into sRGB', () => {
  it('leaves what sRGB can carry as it is, and says 0', () => {
    const random = createRandom(7);
    for (let i = 0; i < 500; i++) {
      const rgb = [random.next(), random.next(), random.next()] as const;
      expect(fitToGamut(rgb)).toEqual({ rgb: [...rgb], deltaE: 0 });
    }
  });

  it('is never silent outside: what comes back is inside, and its distance is the ΔE00 there really is', () => {
    const random = createRandom(11);
    let outside = 0;
    for (let i = 0; i < 1000; i++) {
      const lab: Lab = [100 * random.next(), 250 * random.next() - 125, 250 * random.next() - 125];
      const asked = labToLinear(lab, 'D65');
      const { rgb, deltaE } = fitToGamut(asked);
      for (const channel of rgb) {
        expect(channel).toBeGreaterThanOrEqual(0);
        expect(channel).toBeLessThanOrEqual(1);
      }
      expect(deltaE).toBeCloseTo(deltaE2000(lab, linearToLab(rgb)), 3);
      if (asked.some((channel) => channel < -0.001 || channel > 1.001)) {
        outside++;
        expect(deltaE).toBeGreaterThan(0);
      }
    }
    expect(outside).toBeGreaterThan(250);
  });

  it('is no farther off than plain cutting', () => {
    const random = createRandom(13);
    for (let i = 0; i < 500; i++) {
      const lab: Lab = [100 * random.next(), 250 * random.next() - 125, 250 * random.next() - 125];
      const asked = labToLinear(lab, 'D65');
      const cut = asked.map((channel) => Math.min(1, Math.max(0, channel))) as [number, number, number];
      expect(fitToGamut(asked).deltaE).toBeLessThanOrEqual(deltaE2000(lab, linearToLab(cut)) + 1e-6);
    }
  });

  // brute force with another library's CIEDE2000 (culori): no colour of a grid over sRGB is nearer by more than a grid step is worth
  it('finds no farther colour than a grid over all of sRGB holds', () => {
    const toLab65 = converter('lab65');
    const apart = differenceCiede2000();
    const grid: { readonly mode: string }[] = [];
    for (let r = 0; r <= 24; r++)
      for (let g = 0; g <= 24; g++)
        for (let b = 0; b <= 24; b++)
          grid.push({ mode: 'lab65', ...toLab65({ mode: 'rgb', r: r / 24, g: g / 24, b: b / 24 }) });
    const random = createRandom(17);
    for (let i = 0; i < 40; i++) {
      const lab: Lab = [100 * random.next(), 240 * random.next() - 120, 240 * random.next() - 120];
      const asked = { mode: 'lab65', l: lab[0], a: lab[1], b: lab[2] } as const;
      const nearest = Math.min(...grid.map((candidate) => apart(asked, candidate)));
      expect(fitToGamut(labToLinear(lab, 'D65')).deltaE).toBeLessThanOrEqual(nearest + 0.01);
    }
  });

  it('states the distance on the resolved finish, and keeps the colour that was asked for beside it', () => {
    const lab: Lab = [55, -110, 60];
    const resolved = resolveFinish(
      {
        finish: 'LOUD',
        name: 'Loud green',
        family: 'plastic',
        colour: { lab, illuminant: 'D65', observer: '2deg' },
      },
      null,
    );
    expect(resolved.outOfGamutDeltaE).toBeGreaterThan(1);
    expect(resolved.outOfGamutDeltaE).toBeCloseTo(deltaE2000(lab, linearToLab(resolved.baseColour)), 3);
    resolved.specifiedLab.forEach((value, i) => {
      expect(value).toBeCloseTo(lab[i]!, 3);
    });
    const hex = resolveFinish({ finish: 'Q', name: 'Quiet', family: 'paint', colour: { hex: '#2f5d73' } }, null);
    expect(hex.outOfGamutDeltaE).toBe(0);
    expect(hex.hex).toBe('#2f5d73');
    hex.baseColour.forEach((value, i) => {
      expect(value).toBeCloseTo(hexToLinear('#2f5d73')[i]!, 12);
    });
  });
});
