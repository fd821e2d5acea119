import { describe, expect, it } from 'vitest';
import { FAMILIES } from '../../../../server/core/finish/finish.ts';
import { glossFromCoat, glossFromRoughness } from '../../../../server/core/gloss/gloss-fit.ts';
import { mirrorGloss } from '../../../../server/core/gloss/gloss-integral.ts';
import { chooseAngle, type GlossCase, glossTolerance, judgeGloss } from '../../../../server/core/gloss/judge-gloss.ts';

const PAINT: GlossCase = {
  family: 'paint',
  textured: false,
  metal: false,
  hasMaps: false,
  clearcoat: 0,
  ior: 1.5,
  luminance: 0.2,
};

function judge(given: Partial<GlossCase>) {
  return judgeGloss({ ...PAINT, ...given });
}

/** The verdict, which must be of this kind. */
function expectKind<Kind extends ReturnType<typeof judge>['kind']>(given: Partial<GlossCase>, kind: Kind) {
  const verdict = judge(given);
  expect(verdict.kind).toBe(kind);
  return verdict as Extract<typeof verdict, { kind: Kind }>;
}

describe('a gloss reading', () => {
  it('gives a roughness with the same reading, and the tolerance of the trade', () => {
    const verdict = expectKind({ gu60: 30 }, 'inverted');
    expect(verdict).toMatchObject({ layer: 'base', angle: 60, gu: 30, gu60: 30, tolerance: 5 });
    expect(glossFromRoughness(verdict.roughness, 60, PAINT)).toBeCloseTo(30, 6);
  });

  // ISO 2813's scope: smooth coatings on flat, opaque ground
  it('gives a roughness for smooth coatings only', () => {
    const inverted = FAMILIES.filter((family) => judge({ family, gu60: 30 }).kind === 'inverted');
    expect(inverted).toEqual(['paint', 'powder-coat', 'plastic', 'ceramic']);
    const coated = FAMILIES.filter((family) => judge({ family, gu60: 30, clearcoat: 1 }).kind === 'inverted');
    expect(coated).toEqual(['paint', 'powder-coat', 'wood', 'plastic', 'ceramic']);
  });

  it.each([
    [{ family: 'powder-coat', textured: true }, 'textured'],
    [{ family: 'powder-coat', hasMaps: true }, 'map'],
    [{ metal: true }, 'metal'],
    [{ family: 'plastic', transparent: true }, 'transparent'],
    [{ family: 'wood' }, 'pores'],
    [{ family: 'wood', clearcoat: 1, textured: true }, 'textured'],
    [{ family: 'textile' }, 'Cloth'],
    [{ gu60: undefined }, 'No gloss reading'],
  ] as const)('is not inverted for %j, and says why', (given, word) => {
    expect(expectKind({ gu60: 30, ...given }, 'not-inverted').reason).toContain(word);
  });

  it('of lacquered wood belongs to its clearcoat, whatever the maps of the veneer', () => {
    const verdict = expectKind({ family: 'wood', clearcoat: 1, hasMaps: true, roughness: 0.6, gu60: 35 }, 'inverted');
    expect(verdict.layer).toBe('clearcoat');
    const ground = { ior: 1.5, luminance: 0.2, roughness: 0.6, factor: 1 };
    expect(glossFromCoat(verdict.roughness, 60, ground)).toBeCloseTo(35, 6);
  });

  // ASTM D523: 20° above 70 at 60°, 85° below 10
  it.each([
    [{ gu60: 80, gu20: 50, gu85: 95 }, 20, 50],
    [{ gu60: 80 }, 60, 80],
    [{ gu60: 5, gu85: 12 }, 85, 12],
    [{ gu60: 40, gu20: 8, gu85: 60 }, 60, 40],
    [{ gu20: 50 }, 20, 50],
    [{ gu85: 12 }, 85, 12],
  ] as const)('of %j is taken at %d°', (readings, angle, gu) => {
    expect(judge(readings)).toMatchObject({ kind: 'inverted', angle, gu });
  });

  it('at another angle alone gives the reading at 60°', () => {
    const verdict = expectKind({ gu20: 50 }, 'inverted');
    expect(verdict.gu60).toBeCloseTo(glossFromRoughness(verdict.roughness, 60, PAINT), 6);
    expect(verdict.tolerance).toBe(10);
  });
});

describe('a reading out of reach', () => {
  // 100 · Schlick(1.5) / Schlick(1.567) at 60° is 89.2, not 70; 1.54 gives 95.6
  it('above the mirror limit gives the index that would reach it', () => {
    const verdict = expectKind({ gu60: 95, luminance: 0 }, 'out-of-reach');
    expect(verdict).toMatchObject({ side: 'above', roughness: 0, layer: 'base', coatIor: 1.54 });
    expect(verdict.limitGu).toBeCloseTo(89.2, 1);
    expect(mirrorGloss(1.54, 60)).toBeGreaterThan(95);
    expect(mirrorGloss(1.53, 60)).toBeLessThan(95);
    expect(verdict.message).toMatch(/95 GU at 60°.*89\.2.*1\.54/);
    expect(judge({ gu60: 95, luminance: 0, ior: 1.54 }).kind).toBe('inverted');
  });

  it('says whether a clearcoat would reach it, which has index 1.5 in glTF', () => {
    expect(expectKind({ gu60: 91 }, 'out-of-reach').message).toContain('A smooth clear coat would reach it');
    expect(judge({ gu60: 91, clearcoat: 1 }).kind).toBe('inverted');
    expect(expectKind({ gu60: 95 }, 'out-of-reach').message).toContain('whose index is 1.5');
    const coated = expectKind({ gu60: 95, clearcoat: 1 }, 'out-of-reach');
    expect(coated).toMatchObject({ layer: 'clearcoat', side: 'above' });
    expect(coated.coatIor).toBeUndefined();
  });

  it('above all dielectrics gives no index', () => {
    const verdict = expectKind({ gu60: 900 }, 'out-of-reach');
    expect(verdict.coatIor).toBeUndefined();
    expect(verdict.message).toContain('Check the reading');
  });

  it('slightly below the gloss of full roughness is within the tolerance, and gives roughness 1', () => {
    const verdict = expectKind({ gu60: 0.5, luminance: 1 }, 'inverted');
    expect(verdict.roughness).toBe(1);
    expect(verdict.shownGu).toBeCloseTo(3.05, 1);
  });

  it('below the gloss of the ground under a matt clearcoat says so', () => {
    const verdict = expectKind({ family: 'wood', gu60: 2, clearcoat: 1, roughness: 0.1 }, 'out-of-reach');
    expect(verdict).toMatchObject({ side: 'below', roughness: 1 });
    expect(verdict.message).toContain('Raise the roughness under the clear coat');
  });
});

describe('the angle to measure at', () => {
  // ASTM D523: 20° above 70 at 60°, 85° below 10
  it.each([
    [0, 85],
    [9.9, 85],
    [10, 60],
    [70, 60],
    [70.1, 20],
    [95, 20],
  ] as const)('for %d GU at 60° is %d°', (gu60, angle) => {
    expect(chooseAngle(gu60)).toBe(angle);
  });
});

describe('the tolerance of gloss', () => {
  // Qualicoat, as quoted in the trade
  it.each([
    [5, 5],
    [30, 5],
    [31, 7],
    [70, 7],
    [71, 10],
    [90, 10],
  ] as const)('at %d GU is ±%d', (gu60, tolerance) => {
    expect(glossTolerance(gu60)).toBe(tolerance);
  });
});
