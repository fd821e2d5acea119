import { deltaE2000, linearToLab } from '../colour/lab.ts';
import { linearToHex } from '../colour/srgb.ts';
import { type LevelledMap, levelMap, limitFactor } from '../finish/level-map.ts';
import type { ResolvedFinish } from '../finish/resolve-finish.ts';
import { type Finding, makeFinding } from '../product/finding.ts';
import { METAL_MAP } from '../product/model-facts.ts';
import type { Slot } from '../product/slot.ts';
import type { NeutralDetail, Survey, SurveyedPrimitive } from '../product/survey.ts';
import { choiceOf, type Schedule } from '../schedule/schedule.ts';

/** A part's roughness map, which stays as relative wear under every finish. */
export interface Wear {
  /** Mean of the green channel, which is roughness in glTF (linear); above 0 and at most 1. */
  readonly mean: number;
  /** Whether the blue channel, which is metalness in glTF, is full everywhere. A metal finish needs that. */
  readonly fullMetal: boolean;
}

/** Channels of a metal-roughness map (glTF 2.0 §3.9.2). */
const GREEN = 1;
const BLUE = 2;

/**
 * An encoder's rounding may move an even value by this much, in 8-bit codes. A roughness map that varies no more is
 * effectively a factor, and a metalness this close to full is full. The survey uses the same limit for a constant
 * image.
 */
const CODE_ROUNDING = 2.5 / 255;

/**
 * The wear that a slot keeps of a part. Null if the slot does not keep it; if the part has no UVs or no measurable
 * roughness map; if the map is even; or if the material's own factor of 0 hides it. Slots older than this setting keep
 * it.
 */
export function findWear(
  slot: Slot,
  { material: index, uvSets }: Pick<SurveyedPrimitive, 'material' | 'uvSets'>,
  survey: Survey,
): Wear | null {
  if (slot.keep.wear === false || index === null || uvSets === 0) return null;
  const material = survey.materials[index];
  if (!material || material.factors.roughness === 0) return null;
  const map = material.maps.find(({ use }) => use === METAL_MAP);
  const channels = survey.images[map?.image ?? -1]?.content?.channels;
  const [green, blue] = [channels?.[GREEN], channels?.[BLUE]];
  if (!green || !blue || green.mean <= 0 || green.max - green.min <= CODE_ROUNDING) return null;
  return { mean: green.mean, fullMetal: blue.min >= 1 - CODE_ROUNDING };
}

/**
 * The neutral detail map that a slot keeps of a material. Null if there is none or the slot does not keep it. Slots
 * older than this setting keep it.
 */
export function findDetail(slot: Slot, material: number | null, survey: Survey): NeutralDetail | null {
  if (slot.keep.detail === false || material === null) return null;
  return survey.materials[material]?.neutralDetail ?? null;
}

/** Scales a part's neutral detail map so that its mean over the part is the finish's colour. */
export function divideByDetailMean(
  { baseColour }: Pick<ResolvedFinish, 'baseColour'>,
  detail: NeutralDetail,
): LevelledMap {
  const { mean, codes } = detail;
  // An unreadable map cannot be re-encoded, so only the factor can help.
  return codes ? levelMap(baseColour, codes) : limitFactor(baseColour, [mean, mean, mean], null, 0);
}

/** A distance below this is rounding. */
const DISTANCE_ROUNDING = 0.1;

/**
 * How a finish and the detail maps of a slot affect each other, for the map that fits worst: a colour that cannot be
 * reached (`out-of-reach`), or contrast that is lost to reach it (`pattern-flattened`). Null if the finish has a colour
 * map of its own, or is delivered as supplied.
 */
export function judgeDetail(
  slot: Pick<Slot, 'slot' | 'label'>,
  finish: ResolvedFinish,
  details: readonly NeutralDetail[],
): Finding[] {
  if (finish.maps.colour || finish.supplied !== null || details.length === 0) return [];
  const results = details.map((detail) => {
    const levelled = divideByDetailMean(finish, detail);
    return { levelled, deltaE: deltaE2000(linearToLab(finish.baseColour), linearToLab(levelled.mean)) };
  });
  const where = `slot ${slot.slot}`;
  const place = `“${slot.label}” in ${finish.finish}`;
  const findings: Finding[] = [];
  const farthest = results.reduce((worst, next) => (next.deltaE > worst.deltaE ? next : worst));
  if (farthest.deltaE > DISTANCE_ROUNDING) {
    const hex = linearToHex(farthest.levelled.mean);
    findings.push(
      makeFinding(
        'out-of-reach:detail',
        { finish: finish.finish, wanted: finish.hex, slot: slot.label, hex, deltaE: farthest.deltaE },
        {
          where,
          place,
          seen: { finish: finish.finish, hex, deltaE: farthest.deltaE },
          expected: { finish: finish.finish, hex: finish.hex, deltaE: 0 },
        },
      ),
    );
  }
  const contrast = Math.min(...results.map(({ levelled }) => levelled.contrast ?? 1));
  if (contrast < 1) {
    findings.push(
      makeFinding(
        'pattern-flattened:detail',
        { finish: finish.finish, slot: slot.label, contrast },
        {
          where,
          place,
          seen: { finish: finish.finish, contrast },
          expected: { contrast: 1 },
        },
      ),
    );
  }
  return findings;
}

/** A demand this far above 1 is rounding. */
const DEMAND_ROUNDING = 1e-6;

/**
 * How a finish uses a part's roughness map. `demand` is the factor for which factor × mean is the finish's roughness.
 * `factor` is `demand` limited to 1, glTF's maximum. Null if the map is dropped: for a roughness map of the finish, for
 * a supplied material, or on a metal whose metalness the map would reduce.
 */
export function planWear(
  { maps, supplied, roughness, metalness }: ResolvedFinish,
  { mean, fullMetal }: Wear,
): { readonly factor: number; readonly demand: number } | null {
  if (maps.roughness || supplied !== null || (metalness === 1 && !fullMetal)) return null;
  const demand = roughness / mean;
  return { factor: Math.min(1, demand), demand };
}

/**
 * What one finish loses of the wear of one slot: a roughness beyond the smoothest of its maps (`out-of-reach`), or maps
 * that would reduce the metalness of a metal (`wear-dropped`).
 */
export function judgeWear(
  slot: Pick<Slot, 'slot' | 'label'>,
  finish: ResolvedFinish,
  wears: readonly Wear[],
): Finding[] {
  if (finish.maps.roughness || finish.supplied !== null) return [];
  const usable = wears.filter((wear) => planWear(finish, wear) !== null);
  const where = `slot ${slot.slot}`;
  const place = `“${slot.label}” in ${finish.finish}`;
  const findings: Finding[] = [];
  if (usable.length < wears.length) {
    findings.push(
      makeFinding(
        'wear-dropped',
        { finish: finish.finish, slot: slot.label },
        {
          where,
          place,
          seen: { finish: finish.finish },
          expected: 'a blue channel of 1 all over',
        },
      ),
    );
  }
  const mean = Math.min(...usable.map((wear) => wear.mean));
  const demand = usable.length > 0 ? finish.roughness / mean : 0;
  if (demand > 1 + DEMAND_ROUNDING) {
    findings.push(
      makeFinding(
        'out-of-reach:wear',
        { finish: finish.finish, roughness: finish.roughness, slot: slot.label, mean, factor: demand },
        {
          where,
          place,
          seen: { finish: finish.finish, roughnessFactor: demand, roughness: mean },
          expected: { finish: finish.finish, roughnessFactor: '1 or less', roughness: finish.roughness },
        },
      ),
    );
  }
  return findings;
}

/**
 * Finishes of a schedule that a slot's kept maps cannot reach, because the neutral detail map is too dark or the
 * roughness map too smooth. Each slot and finish occurs once per map.
 * @param resolve a finish by its code
 */
export function listOutOfReach(
  survey: Survey,
  slots: readonly Slot[],
  schedule: Schedule,
  resolve: (code: string) => ResolvedFinish,
): Finding[] {
  const listSlotPrimitives = makeSlotPrimitiveLister(survey);
  return slots.flatMap((slot) => {
    if (slot.fixed) return [];
    const primitives = listSlotPrimitives(slot);
    const details = new Set(primitives.flatMap(({ fact }) => findDetail(slot, fact.material, survey) ?? []));
    const wears = primitives.flatMap(({ fact }) => findWear(slot, fact, survey) ?? []);
    if (details.size === 0 && wears.length === 0) return [];
    const codes = new Set(schedule.variants.flatMap(({ choices }) => choiceOf(choices, slot.slot) ?? []));
    return [...codes].flatMap((code) => {
      const finish = resolve(code);
      return [...judgeDetail(slot, finish, [...details]), ...judgeWear(slot, finish, wears)];
    });
  });
}

/** A primitive of a slot. Primitives with the same `key` get the same materials. */
interface SlotPrimitive {
  readonly mesh: number;
  readonly primitive: number;
  readonly fact: SurveyedPrimitive;
  /**
   * The properties besides slot and finish that determine a material: the source material, the usable UVs, tangents,
   * and the size of a unit of the mesh.
   */
  readonly key: string;
}

/** Lists the primitives of a slot in the current model, in the slot's order. */
export function makeSlotPrimitiveLister(survey: Survey): (slot: Slot) => SlotPrimitive[] {
  const facts = new Map(survey.primitives.map((fact) => [`${fact.mesh}/${fact.primitive}`, fact]));
  return (slot) =>
    slot.primitives.flatMap(({ mesh, primitive }) => {
      const fact = facts.get(`${mesh}/${primitive}`);
      return fact ? [{ mesh, primitive, fact, key: toKey(fact) }] : [];
    });
}

function toKey(fact: SurveyedPrimitive): string {
  const { low = 1, high = 1 } = fact.scale ?? {};
  return `${fact.material} ${fact.hasUvs} ${fact.uvSets} ${hasTangentSpace(fact)} ${low} ${high}`;
}

/** Whether the tangents of a part count: without normals they are ignored (glTF 2.0 §3.7.2.1). */
export function hasTangentSpace({ hasTangents, hasNormals }: SurveyedPrimitive): boolean {
  return hasTangents && hasNormals;
}
