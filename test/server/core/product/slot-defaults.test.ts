import { describe, expect, it } from 'vitest';
import { deriveSlots, directionOf, readNormalKeep, type Slot } from '../../../../server/core/product/slot.ts';
import { fillSlotDefaults } from '../../../../server/core/product/slot-defaults.ts';
import type { GrainFacts, ReliefFacts, Survey } from '../../../../server/core/product/survey.ts';
import { makeSurvey } from '../../../support/make-survey.ts';

// Common practice: veneer runs along the longer side, upholstery cloth hangs; seams, folds and buttons of a part are kept
// under any finish, the weave of its old cloth is not.

const turn = (degrees: number, agreement = 1) => ({ degrees, agreement, share: 1 });
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

describe('the direction of a slot of which nobody has said one', () => {
  it('follows the part: wood along it, cloth as it hangs, and nothing else is turned', () => {
    const slot = settle(LEG, null);
    expect(directionOf(slot, 'wood')).toBe(90);
    expect(directionOf(slot, 'textile')).toBe(0);
    for (const family of ['leather', 'paint', 'bare-metal'] as const) expect(directionOf(slot, family)).toBe(0);
  });

  it('follows only what the part bears out clearly', () => {
    expect(directionOf(settle({ ...LEG, along: turn(90, 0.7) }, null), 'wood')).toBe(0);
    expect(directionOf(settle({ ...LEG, elongation: 1.4 }, null), 'wood')).toBe(0);
    expect(directionOf(settle(null, null), 'wood')).toBe(0);
  });

  it.each([0, 15])('is left alone once a person said %d', (grainDegrees) => {
    expect(directionOf(settle(LEG, null, { grainDegrees, said: ['grain'] }), 'wood')).toBe(grainDegrees);
  });

  it('stays as it was in a slot stored before slots were settled', () => {
    const { said: _, ...old } = deriveSlots(surveyOf(LEG, WEAVE))[0]!;
    const [slot] = fillSlotDefaults([old], surveyOf(LEG, WEAVE));
    expect(directionOf(slot!, 'wood')).toBe(0);
    expect(readNormalKeep(slot!.keep.normal)).toBe('part');
  });
});

describe('whose normal map is shown where nobody has said it', () => {
  const kept = (relief: ReliefFacts | null, change: Partial<Slot> = {}) =>
    readNormalKeep(settle(null, relief, change).keep.normal);

  it('is the finish’s where the part’s own is an even weave, repeats, or is flat', () => {
    expect(kept(WEAVE)).toBe('finish');
    expect(kept({ ...WEAVE, repeats: null })).toBe('finish');
    // a crushed pile tilts its patches, but a map that repeats over the part holds no seam
    expect(kept({ ...WEAVE, formDegrees: 11, repeats: 4.8 })).toBe('finish');
    expect(kept({ middleDegrees: 0.2, steepDegrees: 1.2, formDegrees: 0.1, repeats: 1 })).toBe('finish');
  });

  it('is the part’s where something stands out of it, and where it cannot be told', () => {
    expect(kept(SEAM)).toBe('part');
    expect(kept({ ...WEAVE, formDegrees: 11, repeats: 1 })).toBe('part');
    expect(kept(null)).toBe('part');
  });

  it('is what a person said, whatever the map holds', () => {
    expect(kept(WEAVE, { said: ['normal'] })).toBe('part');
  });
});

it('settling again changes nothing', () => {
  const survey = surveyOf(LEG, WEAVE);
  const once = fillSlotDefaults(deriveSlots(survey), survey);
  expect(fillSlotDefaults(once, survey)).toEqual(once);
});
