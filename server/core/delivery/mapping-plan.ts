import { foldCode } from '../codes.ts';
import type { Slot } from '../product/slot.ts';
import type { MeshScale, NeutralDetail, Survey, SurveyedPrimitive, UvBounds, UvFrame } from '../product/survey.ts';
import { choiceOf, type Schedule } from '../schedule/schedule.ts';
import { finish, SLICE, type Sliced } from '../slices.ts';
import { findDetail, findWear, hasTangentSpace, makeSlotPrimitiveLister, type Wear } from './kept-maps.ts';

/**
 * A material that the file needs: a finish on one slot, or the model's own material. Two primitives share a result if
 * slot, finish, source material and available attributes are equal.
 */
export type PlannedResult =
  | {
      readonly kind: 'finish';
      readonly slot: Slot;
      readonly finish: string;
      readonly sourceMaterial: number | null;
      /** Whether the primitives have the UVs of `lay`. Without them the finish's maps cannot be used. */
      readonly hasUv: boolean;
      /** How maps are placed at true size. */
      readonly lay: UvFrame;
      /** Number of UV sets of the primitives. Maps of the part in a further set cannot stay. */
      readonly uvSets: number;
      /** Whether the primitives have tangents, which give brushing its direction. */
      readonly hasTangents: boolean;
      /** Metres per unit of the mesh's own space, the unit of thickness; null if unknown. */
      readonly scale: MeshScale | null;
      /** The range of the UVs of `lay` on the source material; null if unknown. */
      readonly uvBounds: UvBounds | null;
      /** The neutral detail map that stays on the part, for finishes without a colour map; null if there is none. */
      readonly detail: NeutralDetail | null;
      /**
       * The roughness map that stays on the part as relative wear, for finishes that allow it; null if there is none.
       */
      readonly wear: Wear | null;
    }
  | { readonly kind: 'source'; readonly sourceMaterial: number | null };

export interface PlannedPrimitive {
  readonly mesh: number;
  readonly primitive: number;
  /** Index into `results`: shown before a choice, and by viewers without the extension. */
  readonly base: number;
  /** Every variant occurs once over all mappings; variant indices ascend. */
  readonly mappings: readonly { readonly result: number; readonly variants: readonly number[] }[];
  /** Vertex colours would tint every finish. They are removed if all results of the primitive are finishes. */
  readonly dropColours: boolean;
}

export interface MappingPlan {
  /** Names in the file, in the schedule's order. */
  readonly variants: readonly string[];
  readonly results: readonly PlannedResult[];
  readonly primitives: readonly PlannedPrimitive[];
}

/**
 * Plans the material of every primitive in every variant, by `KHR_materials_variants`: each variant index once over all
 * mappings of a primitive, no empty mapping, and the default variant's material on the primitive itself. Fixed slots
 * and primitives without a slot stay unchanged.
 */
export function planMappings(...given: Parameters<typeof planMappingsSliced>): MappingPlan {
  return finish(planMappingsSliced(...given));
}

/** The same in slices. */
export function* planMappingsSliced(
  survey: Survey,
  slots: readonly Slot[],
  schedule: Schedule,
  names: 'name' | 'code' = 'name',
): Sliced<MappingPlan> {
  const listSlotPrimitives = makeSlotPrimitiveLister(survey);
  const defaultRow = schedule.variants.findIndex((variant) => foldCode(variant.code) === foldCode(schedule.default));
  const results: PlannedResult[] = [];
  const primitives: PlannedPrimitive[] = [];

  for (const slot of slots) {
    if (slot.fixed) continue;
    const rows = yield* groupRows(schedule, slot.slot);
    const planned = new Map<string, Omit<PlannedPrimitive, 'mesh' | 'primitive'>>();
    for (const { mesh, primitive, fact, key } of listSlotPrimitives(slot)) {
      let plan = planned.get(key);
      if (!plan) {
        plan = planRows(slot, fact, survey, rows, defaultRow, results);
        planned.set(key, plan);
      }
      primitives.push({ mesh, primitive, ...plan });
    }
  }
  return { variants: schedule.variants.map((variant) => variant[names]), results, primitives };
}

/** Rows of the schedule by their finish in a slot; `null` for an empty cell. */
function* groupRows(schedule: Schedule, slot: string): Sliced<Map<string | null, number[]>> {
  const rows = new Map<string | null, number[]>();
  for (const [row, variant] of schedule.variants.entries()) {
    if (row % SLICE === SLICE - 1) yield;
    const chosen = choiceOf(variant.choices, slot) ?? null;
    const group = rows.get(chosen);
    if (group) group.push(row);
    else rows.set(chosen, [row]);
  }
  yield;
  return rows;
}

function planRows(
  slot: Slot,
  fact: SurveyedPrimitive,
  survey: Survey,
  rows: ReadonlyMap<string | null, readonly number[]>,
  defaultRow: number,
  results: PlannedResult[],
): Omit<PlannedPrimitive, 'mesh' | 'primitive'> {
  const mappings: { result: number; variants: readonly number[] }[] = [];
  let base = -1;
  for (const [finish, variants] of rows) {
    const result = results.push(planResult(slot, finish, fact, survey)) - 1;
    mappings.push({ result, variants });
    if (variants.includes(defaultRow)) base = result;
  }
  return { base, mappings, dropColours: !rows.has(null) };
}

/** The material of a slot's primitive in a finish; null keeps the source material. */
function planResult(slot: Slot, finish: string | null, fact: SurveyedPrimitive, survey: Survey): PlannedResult {
  if (finish === null) return { kind: 'source', sourceMaterial: fact.material };
  const material = fact.material === null ? undefined : survey.materials[fact.material];
  return {
    kind: 'finish',
    slot,
    finish,
    sourceMaterial: fact.material,
    hasUv: fact.hasUvs,
    uvSets: fact.uvSets,
    hasTangents: hasTangentSpace(fact),
    scale: fact.scale,
    lay: material?.lay ?? survey.bareLay,
    uvBounds: material?.uv?.bounds ?? null,
    detail: findDetail(slot, fact.material, survey),
    wear: findWear(slot, fact, survey),
  };
}

/** The materials that a primitive of a slot can have in a studio file. */
export interface StudioPart {
  readonly slot: string;
  readonly mesh: number;
  readonly primitive: number;
  /** Finish code to index into the plan's results. */
  readonly results: Readonly<Record<string, number>>;
}

interface StudioPlan {
  readonly plan: MappingPlan;
  readonly parts: readonly StudioPart[];
}

/**
 * Plans the file for pictures: the received model, with one more material for every finish a slot may take, and no
 * variants. Each combination then only assigns materials to parts. The materials are exactly those of a delivery.
 */
export function planStudio(
  survey: Survey,
  slots: readonly Slot[],
  finishes: (slot: Slot) => readonly string[],
): StudioPlan {
  const listSlotPrimitives = makeSlotPrimitiveLister(survey);
  const results: PlannedResult[] = [];
  const primitives: PlannedPrimitive[] = [];
  const parts: StudioPart[] = [];
  for (const slot of slots) {
    const codes = slot.fixed ? [] : finishes(slot);
    if (codes.length === 0) continue;
    const bySource = new Map<string, { base: number; codes: Record<string, number> }>();
    for (const { mesh, primitive, fact, key } of listSlotPrimitives(slot)) {
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
