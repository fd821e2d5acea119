import { describe, expect, it } from 'vitest';
import {
  type MappingPlan,
  type PlannedPrimitive,
  planMappings,
} from '../../../../server/core/delivery/mapping-plan.ts';
import { deriveSlots, type Slot } from '../../../../server/core/product/slot.ts';
import type { Survey } from '../../../../server/core/product/survey.ts';
import type { Schedule } from '../../../../server/core/schedule/schedule.ts';
import { makeSlot, makeSurvey } from '../../../support/make-survey.ts';
import { createRandom } from '../../../support/random.ts';

// The rules, in our own words, come from KhronosGroup/glTF 77b44be,
// extensions/2.0/Khronos/KHR_materials_variants/README.md and its two schemas.

const FINISHES = ['OAK', 'ASH', 'BLK', 'red', 'R.2', 'x_y'];

interface Case {
  readonly survey: Survey;
  readonly slots: readonly Slot[];
  readonly schedule: Schedule;
}

function makeCase(start: number): Case {
  const random = createRandom(start);
  const materials = Array.from({ length: 1 + random.whole(5) }, (_, i) => (random.whole(4) === 0 ? '' : `Part ${i}`));
  const meshes = Array.from({ length: 1 + random.whole(5) }, () =>
    Array.from({ length: 1 + random.whole(4) }, () => ({
      material: random.whole(8) === 0 ? null : random.whole(materials.length),
      uvSets: random.whole(3),
      uses: random.whole(6) === 0 ? 0 : 1 + random.whole(2),
      triangles: random.whole(7) === 0 ? 0 : 12,
      hasColours: random.whole(3) === 0,
      hasTangents: random.whole(3) === 0,
      scale: random.pick([null, { low: 1, high: 1 }, { low: 0.001, high: 0.001 }, { low: 1, high: 2 }]),
    })),
  );
  const survey = makeSurvey(materials, meshes);
  const slots = deriveSlots(survey, []).map((slot) => ({ ...slot, fixed: random.whole(4) === 0 }));
  const changing = slots.filter((slot) => !slot.fixed);
  const variants = Array.from({ length: 1 + random.whole(30) }, (_, i) => ({
    code: `V${i}`,
    name: `Variant ${i}`,
    choices: Object.fromEntries(
      changing.flatMap((slot) => (random.whole(6) === 0 ? [] : [[slot.slot, random.pick(FINISHES)]])),
    ),
  }));
  return { survey, slots, schedule: { default: random.pick(variants).code, variants } };
}

/**
 * The material in a viewer. README: without a mapping, “a compliant viewer will fall back on vanilla glTF behaviour”.
 */
function shown(plan: MappingPlan, planned: PlannedPrimitive, variant: number): MappingPlan['results'][number] {
  const mapping = planned.mappings.find((candidate) => candidate.variants.includes(variant));
  return plan.results[mapping?.result ?? planned.base]!;
}

describe('the mapping plan, over 400 random products', () => {
  const cases = Array.from({ length: 400 }, (_, i) => makeCase(1000 + i));
  const plans = cases.map(({ survey, slots, schedule }) => planMappings(survey, slots, schedule));
  const each = (check: (given: Case, plan: MappingPlan) => void) => {
    for (const [i, given] of cases.entries()) check(given, plans[i]!);
  };

  it('has cases with fixed slots, empty cells and parts without a material', () => {
    expect(cases.some(({ slots }) => slots.some((slot) => slot.fixed))).toBe(true);
    expect(plans.some((plan) => plan.results.some((result) => result.kind === 'source'))).toBe(true);
    expect(plans.some((plan) => plan.results.some((result) => result.sourceMaterial === null))).toBe(true);
  });

  // README: “Across the entire mappings array, each variant index must be used no more than one time.” Every variant
  // occurs once, so that choosing one always changes all slots.
  it('names each variant index exactly once per primitive', () => {
    each(({ schedule }, plan) => {
      for (const { mappings } of plan.primitives) {
        const all = mappings.flatMap((mapping) => mapping.variants).sort((a, b) => a - b);
        expect(all).toEqual(schedule.variants.map((_, index) => index));
      }
    });
  });

  // Schema mesh.primitive.KHR_materials_variants: mappings minItems 1, variants minItems 1 and unique, material
  // required.
  it('has no empty mapping, and a material for each', () => {
    each((_, plan) => {
      for (const { mappings } of plan.primitives) {
        expect(mappings.length).toBeGreaterThan(0);
        for (const { variants, result } of mappings) {
          expect(variants.length).toBeGreaterThan(0);
          expect(plan.results[result]).toBeDefined();
        }
      }
    });
  });

  it('names the variants in the schedule’s order', () => {
    each(({ schedule }, plan) => expect(plan.variants).toEqual(schedule.variants.map(({ name }) => name)));
  });

  // README: without an active variant, viewers show the primitive's own material, so the default is there.
  it('puts the default variant’s material on the primitive', () => {
    each(({ schedule }, plan) => {
      const row = schedule.variants.findIndex(({ code }) => code === schedule.default);
      for (const planned of plan.primitives) expect(plan.results[planned.base]).toBe(shown(plan, planned, row));
    });
  });

  it('shows the schedule’s finish on every part of a slot, and the model’s own material for an empty cell', () => {
    each(({ survey, slots, schedule }, plan) => {
      for (const planned of plan.primitives) {
        const slot = slotOf(slots, planned)!;
        const fact = survey.primitives.find((p) => p.mesh === planned.mesh && p.primitive === planned.primitive)!;
        schedule.variants.forEach((variant, index) => {
          const result = shown(plan, planned, index);
          const finish = variant.choices[slot.slot];
          expect(result.sourceMaterial).toBe(fact.material);
          if (finish === undefined) expect(result.kind).toBe('source');
          else
            expect(result).toMatchObject({ kind: 'finish', finish, slot: { slot: slot.slot }, hasUv: fact.uvSets > 0 });
        });
      }
    });
  });

  it('changes every part of the changing slots once, and no other part', () => {
    each(({ slots }, plan) => {
      const wanted = slots.filter((slot) => !slot.fixed).flatMap((slot) => slot.primitives.map(at));
      expect(plan.primitives.map(at).sort()).toEqual([...wanted].sort());
    });
  });

  it('removes vertex colours exactly if every variant has a finish', () => {
    each(({ slots, schedule }, plan) => {
      for (const planned of plan.primitives) {
        const key = slotOf(slots, planned)!.slot;
        expect(planned.dropColours).toBe(schedule.variants.every(({ choices }) => choices[key] !== undefined));
      }
    });
  });

  // One material per distinct result (slot, finish, source material, attributes), for any number of variants.
  it('has each result once per slot, source material, UV sets, tangents and scale', () => {
    each((_, plan) => {
      const keys = plan.results.map((result) =>
        result.kind === 'finish'
          ? `${result.slot.slot} ${result.finish} ${result.sourceMaterial} ${result.hasUv} ${result.uvSets} ${result.hasTangents} ${JSON.stringify(result.scale)}`
          : `source ${result.sourceMaterial}`,
      );
      const finishes = keys.filter((key) => !key.startsWith('source'));
      expect(new Set(finishes).size).toBe(finishes.length);
    });
  });

  it('is the same for the same input', () => {
    each(({ survey, slots, schedule }, plan) => expect(planMappings(survey, slots, schedule)).toEqual(plan));
  });
});

describe('the mapping plan', () => {
  const survey = makeSurvey(['Seat'], [[{ material: 0 }]]);
  const slots = [makeSlot('seat')];

  it('puts codes in the file on request', () => {
    const schedule: Schedule = {
      default: 'b-2',
      variants: [
        { code: 'A-1', name: 'Oak', choices: { seat: 'OAK' } },
        { code: 'B-2', name: 'Ash', choices: { seat: 'ASH' } },
      ],
    };
    expect(planMappings(survey, slots, schedule, 'code').variants).toEqual(['A-1', 'B-2']);
    expect(planMappings(survey, slots, schedule).variants).toEqual(['Oak', 'Ash']);
    // Codes that differ only in case are equal, so b-2 is the second row.
    const plan = planMappings(survey, slots, schedule);
    expect(plan.results[plan.primitives[0]!.base]).toMatchObject({ finish: 'ASH' });
  });

  it('shares one material among the variants that use it', () => {
    const variants = Array.from({ length: 100 }, (_, i) => ({
      code: `V${i}`,
      name: `V ${i}`,
      choices: { seat: i % 2 ? 'OAK' : 'ASH' },
    }));
    const plan = planMappings(survey, slots, { default: 'V0', variants });
    expect(plan.results).toHaveLength(2);
    expect(plan.primitives[0]!.mappings).toHaveLength(2);
  });
});

const at = ({ mesh, primitive }: { mesh: number; primitive: number }) => `${mesh}/${primitive}`;

function slotOf(slots: readonly Slot[], planned: { mesh: number; primitive: number }): Slot | undefined {
  return slots.find((slot) => slot.primitives.some((place) => at(place) === at(planned)));
}
