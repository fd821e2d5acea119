import { converter } from 'culori';
import { describe, expect, it } from 'vitest';
import { linearToLab } from '../../../../server/core/colour/lab.ts';
import {
  BODY_EXPOSURE,
  explainDistance,
  explainLight,
} from '../../../../server/core/picture/explain-colour-difference.ts';
import type { MeasuredColour } from '../../../../server/core/picture/swatch.ts';
import { toneNeutral } from '../../../support/pbr-neutral.ts';

const plain = {
  estimated: null,
  colourFrom: 'specification',
  delivered: { lab: [50, 0, 0], hex: '#777777', deltaE: 0 },
  outOfGamutDeltaE: 0,
  chipDeltaE: 0,
  includedLab: null,
  displayDeltaE: null,
  metalness: 0,
  maps: {},
  supplied: null,
  transmission: 0,
} as const;

describe('explaining why a swatch differs from its specification', () => {
  it('says nothing about a chip whose colour sRGB holds exactly', () => {
    expect(explainDistance(plain, 'chip')).toEqual([]);
  });

  it('names a pattern that cannot reach the colour or has its own, with the distance of its mean', () => {
    const patterned = { ...plain, maps: { colour: 'a' }, delivered: { ...plain.delivered, deltaE: 2.34 } };
    expect(explainDistance(patterned, 'panel', true).join(' ')).toMatch(/varies too much.*2\.3/);
    expect(explainDistance({ ...patterned, colourFrom: 'map' }, 'panel', true).join(' ')).toMatch(
      /mean of the colour map.*2\.3/,
    );
  });

  it.each([
    ['10° readings are estimated', { estimated: { typicalDeltaE: 0.3, worstDeltaE: 1.1 } }, /10° observer.*0\.3.*1\.1/],
    ['sRGB ends', { outOfGamutDeltaE: 4.26 }, /sRGB cannot show this colour.*4\.3/],
    ['8 bits round', { chipDeltaE: 0.21 }, /8 bits.*0\.21/],
    ['the reading included the reflection', { includedLab: [50, 0, 0] as const }, /specular reflection included/],
    ['another colour is approved for screens', { displayDeltaE: 2.34 }, /approved screen colour.*2\.3.*delivered/],
  ])('%s', (_, change, says) => {
    const why = explainDistance({ ...plain, ...change }, 'chip');
    expect(why).toHaveLength(1);
    expect(why[0]).toMatch(says);
  });

  it('leaves rounding out where the gamut causes far more', () => {
    expect(explainDistance({ ...plain, outOfGamutDeltaE: 4, chipDeltaE: 4.1 }, 'chip')).toHaveLength(1);
  });

  it('says that a metal’s chip is its colour at normal incidence, even if all else is exact', () => {
    expect(explainDistance({ ...plain, metalness: 1 }, 'chip')).toEqual([expect.stringMatching(/normal incidence/)]);
    expect(explainDistance({ ...plain, metalness: 1 }, 'sphere').join(' ')).not.toContain('normal incidence');
  });

  it('names light, shine and tone curve on a lit shape, and reflections on metal', () => {
    expect(explainDistance(plain, 'sphere')).toEqual([expect.stringMatching(/light of the studio.*tone curve/)]);
    expect(explainDistance({ ...plain, metalness: 1 }, 'sphere')).toEqual([expect.stringMatching(/surroundings/)]);
  });

  it('names the ground behind glass, which even light does not pass', () => {
    const glass = { ...plain, transmission: 1 };
    expect(explainDistance(glass, 'panel')).toEqual([expect.anything(), expect.stringMatching(/on white/)]);
    expect(explainDistance(glass, 'panel', true)).toEqual([]);
  });

  it('names the folds of a cutting, unless the light is even', () => {
    expect(explainDistance(plain, 'cutting')).toEqual([expect.anything(), expect.stringMatching(/folds.*mean/)]);
    expect(explainDistance(plain, 'cutting', true)).toEqual([]);
  });

  it('names the pattern on every shape that shows it, in even light too, but not on a chip', () => {
    const woven = { ...plain, maps: { colour: 'a'.repeat(64) } };
    expect(explainDistance(woven, 'sphere')).toHaveLength(2);
    expect(explainDistance(woven, 'sphere', true)).toEqual([expect.stringMatching(/pattern.*mean/)]);
    expect(explainDistance(woven, 'chip')).toEqual([]);
  });
});

type Colour = readonly [number, number, number];

const matt = { metalness: 0, transmission: 0, iridescence: null, emissive: null, maps: {} } as const;

/** The measured colour after this light and the published tone curve. */
function measure(light: Colour, where: MeasuredColour['where'] = 'facing-centre'): MeasuredColour {
  return { where, hex: '#000000', lab: linearToLab(toneNeutral(light)) };
}

const toLab = converter('lab65');

/** Lightness and chroma from another library. */
function look([r, g, b]: Colour): { lightness: number; chroma: number } {
  const { l = 0, a = 0, b: yellow = 0 } = toLab({ mode: 'lrgb', r, g, b });
  return { lightness: l, chroma: Math.hypot(a, yellow) };
}

/** The figures of a sentence, in order. */
const readFigures = (text: string | undefined) =>
  [...(text ?? '').matchAll(/[LC]\* ([+−])(\d+\.\d)/g)].map(
    ([, sign, value]) => Number(value) * (sign === '−' ? -1 : 1),
  );

const times = ([r, g, b]: Colour, factor: number): Colour => [r * factor, g * factor, b * factor];

describe('the effect of the studio’s light on a colour', () => {
  it.each<readonly [string, Colour, number]>([
    ['a pale grey', [0.8, 0.8, 0.8], 0.02],
    ['the grey card', [0.18, 0.18, 0.18], 0.0139],
    ['a dark red', [0.25, 0.02, 0.03], 0.036],
    ['a blue', [0.02, 0.08, 0.3], 0.03],
    ['black lacquer', [0.003, 0.003, 0.003], 0.07],
  ])('of %s: exposure, surface and tone curve, which add up', (_, baseColour, mirrored) => {
    const body = times(baseColour, BODY_EXPOSURE);
    const light = body.map((value) => value + mirrored) as unknown as Colour;
    const [lightness, chroma] = explainLight({ ...matt, baseColour }, measure(light));
    const stages = [baseColour, body, light, toneNeutral(light)].map(look);
    const expected = (key: 'lightness' | 'chroma') =>
      stages.slice(1).map((stage, index) => stage[key] - stages[index]![key]);
    expect(lightness).toMatch(/^The distance in lightness .*grey card.*surface.*Khronos PBR Neutral/);
    readFigures(lightness).forEach((figure, index) => {
      // The sentence states one decimal.
      expect(Math.abs(figure - expected('lightness')[index]!)).toBeLessThan(0.06);
    });
    expect(readFigures(lightness)).toHaveLength(3);
    const grey = Math.max(...expected('chroma').map(Math.abs)) < 0.5;
    expect(readFigures(chroma)).toHaveLength(grey ? 0 : 3);
    readFigures(chroma).forEach((figure, index) => {
      expect(Math.abs(figure - expected('chroma')[index]!)).toBeLessThan(0.06);
    });
  });

  // Facing reflectance of gold and iron: Khronos 3D Commerce Asset Creation Guidelines v1.0.0.
  it.each<readonly [string, Colour, number]>([
    ['gold', [1, 0.766, 0.336], 1.06],
    ['iron', [0.56, 0.57, 0.58], 0.4],
  ])('of %s: the mirrored light and the tone curve', (_, baseColour, field) => {
    const light = times(baseColour, field);
    const [share, lightness] = explainLight({ ...matt, metalness: 1, baseColour }, measure(light));
    expect(share).toContain(`is ${Math.round(field * 100)} % of the light`);
    const [from, mirrored, shown] = [baseColour, light, toneNeutral(light)].map((rgb) => look(rgb).lightness);
    const [first, second] = readFigures(lightness);
    expect(first).toBeCloseTo(mirrored! - from!, 0);
    expect(second).toBeCloseTo(shown! - mirrored!, 0);
  });

  it('accepts a channel at the end of its range', () => {
    const white = { where: 'facing-centre', hex: '#ffffff', lab: [100, 0, 0] } as const;
    for (const note of explainLight({ ...matt, baseColour: [1, 1, 1] }, white))
      expect(note).not.toMatch(/NaN|Infinity/);
    for (const metalness of [0, 1] as const) {
      const black = { where: 'facing-centre', hex: '#000000', lab: [0, 0, 0] } as const;
      for (const note of explainLight({ ...matt, metalness, baseColour: [0, 0, 0] }, black))
        expect(note).not.toMatch(/NaN|Infinity/);
    }
  });

  it.each([
    ['a mean over folds or a pattern', {}, 'mean'],
    ['even light', {}, 'flat'],
    ['glass', { transmission: 1 }, 'facing-centre'],
    ['a relief', { maps: { normal: 'a'.repeat(64) } }, 'facing-centre'],
    ['a film', { iridescence: { factor: 1, ior: 1.3, thicknessMinNm: 100, thicknessMaxNm: 400 } }, 'facing-centre'],
    ['a lamp', { emissive: { colour: [1, 1, 1], strength: 1 } }, 'facing-centre'],
  ] as const)('no figures for %s', (_, change, where) => {
    expect(explainLight({ ...matt, baseColour: [0.5, 0.5, 0.5], ...change }, measure([0.5, 0.5, 0.5], where))).toEqual(
      [],
    );
  });
});
