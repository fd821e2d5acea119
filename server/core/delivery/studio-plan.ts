import type { Slot } from '../product/slot.ts';
import type { Survey } from '../product/survey.ts';
import { makeDressableLister } from './list-dressable.ts';
import { type MappingPlan, type PlannedPrimitive, type PlannedResult, planResult } from './mapping-plan.ts';

/** Which materials of a studio file the primitives of a slot can wear. */
export interface StudioPart {
  readonly slot: string;
  readonly mesh: number;
  readonly primitive: number;
  /** Finish code to index into the plan's results. */
  readonly results: Readonly<Record<string, number>>;
}

export interface StudioPlan {
  readonly plan: MappingPlan;
  readonly parts: readonly StudioPart[];
}

/**
 * Plans the file pictures are taken from: the model as it came, with one more material for every finish a slot may take
 * and no variants. Any combination is then a matter of which material a part wears, and the materials are the very ones
 * a delivery writes.
 */
export function planStudio(
  survey: Survey,
  slots: readonly Slot[],
  finishes: (slot: Slot) => readonly string[],
): StudioPlan {
  const listDressable = makeDressableLister(survey);
  const results: PlannedResult[] = [];
  const primitives: PlannedPrimitive[] = [];
  const parts: StudioPart[] = [];
  for (const slot of slots) {
    const codes = slot.fixed ? [] : finishes(slot);
    if (codes.length === 0) continue;
    const bySource = new Map<string, { base: number; codes: Record<string, number> }>();
    for (const { mesh, primitive, fact, key } of listDressable(slot)) {
      let planned = bySource.get(key);
      if (!planned) {
        const base = results.push(planResult(slot, null, fact, survey)) - 1;
        planned = { base, codes: {} };
        for (const code of codes) planned.codes[code] = results.push(planResult(slot, code, fact, survey)) - 1;
        bySource.set(key, planned);
      }
      primitives.push({ mesh, primitive, base: planned.base, mappings: [], dropColours: false });
      parts.push({ slot: slot.slot, mesh, primitive, results: planned.codes });
    }
  }
  return { plan: { variants: [], results, primitives }, parts };
}
