import { describe, expect, it } from 'vitest';
import type { Family } from '../../../../server/core/finish/finish.ts';
import { deriveSlots, directionOf, readNormalKeep, type Slot } from '../../../../server/core/product/slot.ts';
import { fillSlotDefaults, projectGrain, proposeGrain } from '../../../../server/core/product/slot-defaults.ts';
import type { GrainFacts, GrainTurn, ReliefFacts, Survey } from '../../../../server/core/product/survey.ts';
import { makeSurvey } from '../../../support/make-survey.ts';

// Common practice: veneer runs along the longer side, and upholstery cloth hangs. Seams, folds and buttons of a part
// stay under any finish; the weave of its old cloth does not.

const turn = (degrees: number, more: Partial<GrainTurn> = {}): GrainTurn => ({
  degrees,
  agreement: 1,
  share: 1,
  ...more,
});
const LEG: GrainFacts = { along: turn(90), elongation: 7, hanging: turn(0), lying: 0, mark: null };
const SEAM: ReliefFacts = { middleDegrees: 4, steepDegrees: 13, formDegrees: 3.7, repeats: 1 };
const WEAVE: ReliefFacts = { middleDegrees: 12, steepDegrees: 14, formDegrees: 1, repeats: 6 };

function surveyOf(grain: GrainFacts | null, relief: ReliefFacts | null): Survey {
  const survey = makeSurvey(['Leg'], [[{ material: 0 }]]);
  return { ...survey, materials: survey.materials.map((material) => ({ ...material, grain, relief })) };
}

function settle(grain: GrainFacts | null, relief: ReliefFacts | null, change: Partial<Slot> = {}): Slot {
  const survey = surveyOf(grain, relief);
  return fillSlotDefaults([{ ...deriveSlots(survey)[0]!, ...change }], survey)[0]!;
}

describe('the direction of a slot that nobody has set', () => {
  it('follows the part: wood runs along it, cloth hangs, and other finishes are not turned', () => {
    const slot = settle(LEG, null);
    expect(directionOf(slot, 'wood')).toBe(90);
    expect(directionOf(slot, 'textile')).toBe(0);
    for (const family of ['leather', 'paint', 'bare-metal'] as const) expect(directionOf(slot, family)).toBe(0);
  });

  it('follows the part only where it is clear', () => {
    expect(directionOf(settle({ ...LEG, along: turn(90, { agreement: 0.7 }) }, null), 'wood')).toBe(0);
    expect(directionOf(settle({ ...LEG, elongation: 1.4 }, null), 'wood')).toBe(0);
    expect(directionOf(settle(null, null), 'wood')).toBe(0);
  });

  it.each([0, 15])('is not changed once a person set %d', (grainDegrees) => {
    expect(directionOf(settle(LEG, null, { grainDegrees, said: ['grain'] }), 'wood')).toBe(grainDegrees);
  });

  it('does not change in a slot older than this setting', () => {
    const { said: _, ...old } = deriveSlots(surveyOf(LEG, WEAVE))[0]!;
    const [slot] = fillSlotDefaults([old], surveyOf(LEG, WEAVE));
    expect(directionOf(slot!, 'wood')).toBe(0);
    expect(readNormalKeep(slot!.keep.normal)).toBe('part');
  });
});

describe('the normal map of a slot that nobody has set', () => {
  const kept = (relief: ReliefFacts | null, change: Partial<Slot> = {}) =>
    readNormalKeep(settle(null, relief, change).keep.normal);

  it('is the finish’s if the part’s own is an even weave, repeats, or is flat', () => {
    expect(kept(WEAVE)).toBe('finish');
    expect(kept({ ...WEAVE, repeats: null })).toBe('finish');
    // A crushed pile tilts its patches, but a map that repeats over the part holds no seam.
    expect(kept({ ...WEAVE, formDegrees: 11, repeats: 4.8 })).toBe('finish');
    expect(kept({ middleDegrees: 0.2, steepDegrees: 1.2, formDegrees: 0.1, repeats: 1 })).toBe('finish');
  });

  it('is the part’s if something stands out of it, or if it is unknown', () => {
    expect(kept(SEAM)).toBe('part');
    expect(kept({ ...WEAVE, formDegrees: 11, repeats: 1 })).toBe('part');
    expect(kept(null)).toBe('part');
  });

  it('is a person’s choice, whatever the map holds', () => {
    expect(kept(WEAVE, { said: ['normal'] })).toBe('part');
  });
});

it('filling in defaults twice changes nothing', () => {
  const survey = surveyOf(LEG, WEAVE);
  const once = fillSlotDefaults(deriveSlots(survey), survey);
  expect(fillSlotDefaults(once, survey)).toEqual(once);
});

const facts = (given: Partial<GrainFacts> = {}): GrainFacts => ({
  along: turn(90),
  elongation: 2.4,
  hanging: turn(0),
  lying: 0,
  mark: null,
  ...given,
});

// Common practice, from memory: veneer runs along the longer side; upholstery cloth runs down the back, and from back
// to front on the seat.
describe('a proposed direction', () => {
  it('runs veneer along the longer direction', () => {
    expect(proposeGrain(facts(), ['wood'])).toEqual({
      grainDegrees: 90,
      confidence: 'clear',
      reason: 'The grain then runs along the longer direction of the part, 2.4 times as long as wide.',
    });
  });

  it.each([
    [1, 'The warp then runs front to back, as on a seat.'],
    [0, 'The warp then runs down, as on a back.'],
    [0.5, 'The warp then runs front to back on level surfaces, and down on upright ones.'],
  ])('hangs cloth, with %d of it lying', (lying, reason) => {
    const proposal = proposeGrain(facts({ lying }), ['textile', 'leather']);
    expect(proposal).toEqual({ grainDegrees: 0, confidence: 'clear', reason });
  });

  it.each<[string, Family[], GrainFacts | null]>([
    ['no finish has a direction', ['paint', 'leather', 'bare-metal'], facts()],
    ['the slot takes no finish', [], facts()],
    ['the part has no UVs', ['wood'], null],
    ['its direction is unknown', ['wood'], facts({ along: null, hanging: null })],
  ])('is null if %s', (_, families, given) => {
    expect(proposeGrain(given, families)).toBeNull();
  });

  it('is weak on a part without a longer direction, and laid like cloth', () => {
    const proposal = proposeGrain(facts({ along: null, hanging: turn(30) }), ['wood'])!;
    expect(proposal).toMatchObject({ grainDegrees: 30, confidence: 'weak' });
    expect(proposal.reason).toMatch(/^The part has no dominant direction\. The grain then runs down/);
    expect(proposeGrain(facts({ along: turn(90, { share: 0.1 }) }), ['wood'])).toMatchObject({ grainDegrees: 0 });
  });

  it.each<[string, Partial<GrainFacts>, RegExp]>([
    ['is hardly longer than broad', { elongation: 1.3 }, /but it is only 1\.3 times as long as wide/],
    ['has UVs in several directions', { along: turn(90, { agreement: 0.7 }) }, /agreement 70 %/],
    ['has little surface with a length', { along: turn(90, { share: 0.4 }) }, /only 40 % of its surface counts/],
  ])('is weak on a part that %s', (_, given, reason) => {
    const proposal = proposeGrain(facts(given), ['wood'])!;
    expect(proposal).toMatchObject({ grainDegrees: 90, confidence: 'weak' });
    expect(proposal.reason).toMatch(reason);
  });

  it('is null with a reason if the UVs run every way', () => {
    for (const [given, family] of [
      [facts({ along: turn(12, { agreement: 0.2 }) }), 'wood'],
      [facts({ hanging: turn(12, { agreement: 0.2 }) }), 'textile'],
    ] as const) {
      const proposal = proposeGrain(given, [family])!;
      expect(proposal).toMatchObject({ grainDegrees: null, confidence: 'weak' });
      expect(proposal.reason).toMatch(/too many directions for one turn .* agreement is 20 %/);
    }
  });

  it.each([
    [0.4, 0],
    [1.9, 0],
    [2.6, 3],
    [88.1, 90],
    [91.9, 90],
    [92.6, 93],
    [179.4, 0],
    [178.2, 0],
    [177.4, 177],
    [45.2, 45],
  ])('is rounded to whole degrees and to a near quarter turn: %d becomes %d', (degrees, expected) => {
    expect(proposeGrain(facts({ along: turn(degrees) }), ['wood'])!.grainDegrees).toBe(expected);
  });

  it('follows the more numerous kind in a slot for wood and cloth, and says what the other needs', () => {
    const wood = proposeGrain(facts(), ['wood', 'wood', 'textile'])!;
    expect(wood).toMatchObject({ grainDegrees: 90, confidence: 'weak' });
    expect(wood.reason).toMatch(/applies to woods; cloths would run at 0°/);
    const cloth = proposeGrain(facts(), ['wood', 'textile', 'textile'])!;
    expect(cloth).toMatchObject({ grainDegrees: 0, confidence: 'weak' });
    expect(cloth.reason).toMatch(/applies to cloths; woods would run at 90°/);
    // Across the end of the half circle, it is 4° from one to the other.
    const both = facts({ along: turn(178, { degrees: 176 }), hanging: turn(0) });
    expect(proposeGrain(both, ['wood', 'textile'])).toMatchObject({ grainDegrees: 176, confidence: 'clear' });
  });
});

/** The mark of constant steps in U and V. */
function markOf([ux, uy]: readonly [number, number], [vx, vy]: readonly [number, number]) {
  return {
    uu: [ux * ux, ux * uy, uy * uy],
    uv: [2 * ux * vx, ux * vy + uy * vx, 2 * uy * vy],
    vv: [vx * vx, vx * vy, vy * vy],
  } as const;
}

// The direction at g degrees is U sin g + V cos g, so its angle is known for a constant U and V.
describe('a direction in a view', () => {
  it.each([
    [
      [1, 0],
      [0, -1],
    ],
    [
      [-1, 0],
      [0, -1],
    ],
    [
      [0.6, 0.8],
      [0.8, -0.6],
    ],
    [
      [1.4, 0.1],
      [0.3, -0.7],
    ],
  ] as const)('is that of the sum for steps %j and %j', (u, v) => {
    for (let degrees = 0; degrees < 360; degrees += 15) {
      const angle = (degrees * Math.PI) / 180;
      const [x, y] = [0, 1].map((k) => u[k]! * Math.sin(angle) + v[k]! * Math.cos(angle)) as [number, number];
      const shown = projectGrain(markOf(u, v), degrees)!;
      const away = ((shown.degrees - (Math.atan2(y, x) * 180) / Math.PI) * Math.PI) / 180;
      // The same axis, at either end.
      expect(Math.abs(Math.sin(away))).toBeLessThan(1e-9);
      expect(shown.agreement).toBeCloseTo(1, 9);
      expect(shown.degrees).toBeGreaterThanOrEqual(0);
      expect(shown.degrees).toBeLessThan(180);
    }
  });

  it('has no agreement if every direction is equally likely, and is null without steps', () => {
    expect(projectGrain({ uu: [1, 0, 1], uv: [0, 0, 0], vv: [1, 0, 1] }, 40)!.agreement).toBeCloseTo(0, 9);
    expect(projectGrain({ uu: [0, 0, 0], uv: [0, 0, 0], vv: [0, 0, 0] }, 40)).toBeNull();
  });
});
