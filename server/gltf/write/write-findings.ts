import { judgeDetail } from '../../core/delivery/divide-by-detail-mean.ts';
import { judgeNormals, type NormalsApart } from '../../core/delivery/judge-normals.ts';
import { judgeWear } from '../../core/delivery/judge-wear.ts';
import type { MappingPlan } from '../../core/delivery/mapping-plan.ts';
import { missedDegrees } from '../../core/delivery/repeat-transform.ts';
import { type Finding, makeFinding } from '../../core/product/finding.ts';
import { readNormalKeep, type Slot } from '../../core/product/slot.ts';
import type { MeshScale } from '../../core/product/survey.ts';
import { count, formatMm } from '../../core/texts/format-text.ts';
import {
  type AlphaMap,
  type FinishResult,
  hasVolume,
  type MaterialSpec,
  type PartOverrides,
  type PlannedFinish,
  type PlanOverrides,
} from '../materials/material-spec.ts';
import { middleOf } from '../materials/specify-materials.ts';
import type { SuppliedMaterials } from '../materials/supplied/read-supplied.ts';
import { findTangentFrame } from '../materials/tangent-frame.ts';

/** What was written, as far as findings need it. */
export interface WrittenMaterials {
  readonly plan: MappingPlan;
  readonly results: readonly FinishResult[];
  /** One for each finish result, in order. */
  readonly specs: readonly MaterialSpec[];
  readonly overrides: PlanOverrides & { readonly notCombined: readonly NormalsApart[] };
  readonly supplied: SuppliedMaterials;
  /** Bytes that stay although nothing known reads them. */
  readonly deadBytes: number;
}

/** A finish result with its specification, and with what its part keeps. */
interface Item {
  readonly planned: PlannedFinish;
  readonly spec: MaterialSpec;
  readonly part: PartOverrides;
}

/** Reports what a delivery could not carry over, grouped by slot. */
export function listWriteFindings({
  plan,
  results,
  specs,
  overrides,
  supplied,
  deadBytes,
}: WrittenMaterials): Finding[] {
  const items = results.map(({ planned }, at) => ({ planned, spec: specs[at]!, part: overrides.parts[at]! }));
  return [
    ...listMissingUvs(supplied),
    ...listOutOfReach(supplied),
    ...listUnevenThickness(plan, results),
    ...listDoubleSidedVolumes(items),
    ...listDroppedMaps(items),
    ...listUnusableMaps(items),
    ...listMissedDirections(items),
    ...judgeNormals(overrides.notCombined),
    ...groupBySlotAndFinish(items, ({ detail }) => detail, judgeDetail),
    ...listAnisotropyDropped(items),
    ...groupBySlotAndFinish(items, ({ wear }) => wear, judgeWear),
    ...listAlphaFindings(overrides.alphaMaps),
    ...listDeadBytes(deadBytes),
  ];
}

function listMissingUvs({ missingUvs }: SuppliedMaterials): Finding[] {
  return [...missingUvs].map(([slot, codes]) => {
    const [which, are] = codes.size === 1 ? [[...codes][0]!, 'is'] : [`${codes.size} finishes`, 'are'];
    return makeFinding('missing-uv', {
      where: `slot ${slot}`,
      message: `The parts of “${slot}” lack a set of UVs by which maps of ${which} ${are} laid; those maps are left off there. Export the part with the UVs of the part the finish came on, or choose another finish.`,
      seen: [...codes],
    });
  });
}

function listOutOfReach({ outOfReach }: SuppliedMaterials): Finding[] {
  return [...outOfReach].map((code) =>
    makeFinding('out-of-reach', {
      where: `finish ${code}`,
      message: `${code} has been made lighter or rougher than the maps of its supplied material can carry; its factors are at 1, which is the most. Choose a darker colour, or store the finish without the supplied material.`,
      seen: code,
    }),
  );
}

/** A thickness differs visibly only where scales differ by more than this share. Judgement. */
const SAME_SCALE = 1e-3;

interface UnevenThickness {
  readonly meshes: Set<number>;
  readonly finishes: Set<string>;
  /** The least thickness that results, in metres. */
  low: number;
  high: number;
}

/**
 * Reports thicknesses on a mesh that nodes of several scales draw. `KHR_materials_volume` states thickness in the mesh's own
 * space, so that one material cannot be right on all of them.
 */
function listUnevenThickness(plan: MappingPlan, results: readonly FinishResult[]): Finding[] {
  const byResult = new Map(results.map((result) => [result.index, result]));
  const bySlot = new Map<string, UnevenThickness>();
  for (const { mesh, mappings } of plan.primitives) {
    for (const { result } of mappings) {
      const { planned, finish } = byResult.get(result) ?? {};
      if (!planned?.scale || !finish || !isUneven(planned.scale) || !hasVolume(finish)) continue;
      const { slot } = planned.slot;
      const group = bySlot.get(slot) ?? { meshes: new Set(), finishes: new Set(), low: Infinity, high: 0 };
      bySlot.set(slot, group);
      group.meshes.add(mesh);
      group.finishes.add(finish.finish);
      const perUnit = finish.volume!.thickness / middleOf(planned.scale);
      group.low = Math.min(group.low, perUnit * planned.scale.low);
      group.high = Math.max(group.high, perUnit * planned.scale.high);
    }
  }
  return [...bySlot].map(([slot, { meshes, finishes, low, high }]) =>
    makeFinding('thickness-uneven', {
      where: `slot ${slot}`,
      message: `${count(meshes.size, 'mesh', 'meshes')} of “${slot}” ${meshes.size === 1 ? 'is' : 'are'} drawn by nodes of several scales, so the thickness of ${count(finishes.size, 'finish', 'finishes')} comes out between ${formatMm(low)} and ${formatMm(high)}. Give the nodes meshes of their own, and each is right.`,
      seen: { finishes: [...finishes], lowMm: low * 1000, highMm: high * 1000 },
      expected: 'one scale for each mesh',
      repairs: [{ repair: 'unshare-mesh', meshes: [...meshes].map((mesh) => `/meshes/${mesh}`) }],
    }),
  );
}

const isUneven = ({ low, high }: MeshScale) => high - low > SAME_SCALE * high;

/**
 * Reports finishes with a volume, such as tinted glass, on double-sided parts. Light is absorbed between the points where it
 * enters and leaves a closed part, so `doubleSided` has no meaning there (`KHR_materials_volume`) and is left out. An open
 * sheet loses its back with it.
 */
function listDoubleSidedVolumes(items: readonly Item[]): Finding[] {
  const bySlot = new Map<string, { label: string; finishes: Set<string> }>();
  for (const { planned, spec, part } of items) {
    if (!part.dropsDoubleSided) continue;
    const { slot, label } = planned.slot;
    const group = bySlot.get(slot) ?? { label, finishes: new Set() };
    bySlot.set(slot, group);
    group.finishes.add(spec.finish.finish);
  }
  return [...bySlot].map(([slot, { label, finishes }]) =>
    makeFinding('double-sided-body', {
      where: `slot ${slot}`,
      message: `“${label}” is marked double-sided, which says nothing of a body that light is lost in; ${count(finishes.size, 'finish is', 'finishes are')} written without it. Where the part is closed nothing changes. Where it is an open sheet its back is not drawn: close it, or use a finish without a volume.`,
      seen: [...finishes],
      expected: 'a closed part, single-sided',
    }),
  );
}

/** Reports maps of finishes that parts cannot show. */
function listDroppedMaps(items: readonly Item[]): Finding[] {
  const bySlot = new Map<string, { finishes: Set<string>; noUv: boolean }>();
  for (const { planned, spec } of items) {
    const maps = Object.entries(spec.finish.maps).filter(([, sha256]) => sha256);
    const dropped = spec.lay === null ? maps.length > 0 : maps.some(([use]) => isDropped(use, planned, spec));
    if (!dropped) continue;
    const group = bySlot.get(planned.slot.slot) ?? { finishes: new Set(), noUv: spec.lay === null };
    group.finishes.add(spec.finish.finish);
    bySlot.set(planned.slot.slot, group);
  }
  return [...bySlot].map(([slot, { finishes, noUv }]) =>
    noUv
      ? makeFinding('missing-uv', {
          where: `slot ${slot}`,
          message: `The parts of “${slot}” do not have the UVs that finishes are laid by, so the maps of ${finishes.size} finishes cannot be laid; their colour and gloss are used alone. Export the part with UVs, or have box UVs generated for it.`,
          seen: [...finishes],
        })
      : makeFinding('finish-map-dropped', {
          where: `slot ${slot}`,
          message: `“${slot}” keeps its own normal map or the alpha of its colour map, which takes the place of the same map in ${finishes.size} finishes. Change what the slot keeps to show the finish's.`,
          seen: [...finishes],
        }),
  );
}

/** Normal maps that were to be combined and are not have a finding of their own. */
function isDropped(use: string, { slot }: PlannedFinish, { omittedMaps }: MaterialSpec): boolean {
  return omittedMaps.has(use as never) && (use !== 'normal' || readNormalKeep(slot.keep.normal) === 'part');
}

/** Reports maps that parts should keep but cannot. */
function listUnusableMaps(items: readonly Item[]): Finding[] {
  const bySlot = new Map<string, { slot: Slot; maps: Set<string> }>();
  for (const { planned, part } of items) {
    if (part.unusableMaps.length === 0) continue;
    const { slot } = planned;
    const group = bySlot.get(slot.slot) ?? { slot, maps: new Set() };
    bySlot.set(slot.slot, group);
    for (const map of part.unusableMaps) group.maps.add(map);
  }
  return [...bySlot.values()].map(({ slot, maps }) =>
    makeFinding('missing-uv', {
      where: `slot ${slot.slot}`,
      place: `“${slot.label}”`,
      message: `Parts of “${slot.label}” lack the set of UVs that their own ${[...maps].join(' and ')} ${maps.size === 1 ? 'map is' : 'maps are'} laid by, so finishes are written without ${maps.size === 1 ? 'it' : 'them'} there. Export these parts with all their UVs.`,
      seen: [...maps],
      expected: [],
    }),
  );
}

/** A smaller error of direction is not visible. Judgement. */
const VISIBLE_DEGREES = 1;

/** Reports finishes whose oblong repeat cannot have the direction asked for. */
function listMissedDirections(items: readonly Item[]): Finding[] {
  const bySlot = new Map<string, { slot: Slot; finishes: Set<string>; degrees: number }>();
  for (const { planned, spec } of items) {
    const { finish, lay, grainDegrees } = spec;
    if (!lay || !finish.tile) continue;
    const degrees = missedDegrees(finish.tile, lay, grainDegrees);
    if (degrees <= VISIBLE_DEGREES) continue;
    const { slot } = planned;
    const group = bySlot.get(slot.slot) ?? { slot, finishes: new Set(), degrees: 0 };
    group.finishes.add(finish.finish);
    group.degrees = Math.max(group.degrees, degrees);
    bySlot.set(slot.slot, group);
  }
  return [...bySlot.values()].map(({ slot, finishes, degrees }) =>
    makeFinding('direction-missed', {
      where: `slot ${slot.slot}`,
      place: `“${slot.label}”`,
      message: `A repeat that is not square can be laid in quarter turns only. On “${slot.label}” the maps of ${count(finishes.size, 'finish', 'finishes')} lie up to ${Math.round(degrees)}° off the direction asked for. Use a square repeat, or a direction of 0°, 90°, 180° or 270°.`,
      seen: { finishes: [...finishes], degrees },
      expected: { degrees: 0 },
    }),
  );
}

/** Judges a map that parts of a slot keep against each finish of the slot, once for each pair. */
function groupBySlotAndFinish<T>(
  items: readonly Item[],
  findKept: (planned: PlannedFinish) => T | null,
  judge: (slot: Slot, finish: MaterialSpec['finish'], kept: readonly T[]) => Finding[],
): Finding[] {
  const groups = new Map<string, { slot: Slot; finish: MaterialSpec['finish']; kept: T[] }>();
  for (const { planned, spec } of items) {
    const one = findKept(planned);
    if (!one) continue;
    const group = groups.get(spec.name);
    if (group) group.kept.push(one);
    else groups.set(spec.name, { slot: planned.slot, finish: spec.finish, kept: [one] });
  }
  return [...groups.values()].flatMap(({ slot, finish, kept }) => judge(slot, finish, kept));
}

/** Reports brushed finishes on parts without a tangent frame, which cannot show the direction. */
export function listAnisotropyDropped(
  items: readonly { readonly planned: Pick<PlannedFinish, 'slot'>; readonly spec: MaterialSpec }[],
): Finding[] {
  const bySlot = new Map<string, Set<string>>();
  for (const { planned, spec } of items) {
    const { finish } = spec;
    if (!finish.anisotropy || finish.anisotropy.strength === 0 || findTangentFrame(spec)) continue;
    const { slot } = planned.slot;
    bySlot.set(slot, (bySlot.get(slot) ?? new Set()).add(finish.finish));
  }
  return [...bySlot].map(([slot, finishes]) =>
    makeFinding('anisotropy-dropped', {
      where: `slot ${slot}`,
      message: `The highlight of ${finishes.size === 1 ? 'a finish' : `${finishes.size} finishes`} on “${slot}” is not drawn out along the brushing: its direction needs tangents or a normal map, and the parts have neither. Export them with tangents, or give the finish a normal map of its brushing.`,
      seen: [...finishes],
      expected: 'tangents, or a normal map',
    }),
  );
}

function listAlphaFindings(alphaMaps: ReadonlyMap<number, AlphaMap>): Finding[] {
  return [...alphaMaps]
    .filter(([, map]) => map === 'unchanged')
    .map(([texture]) =>
      makeFinding(
        'alpha-in-colour-map',
        {
          where: `/textures/${texture}`,
          message:
            'This colour map shapes its part by alpha and could not be taken apart; it stays whole and tints the finishes laid on it.',
        },
        'warning',
      ),
    );
}

function listDeadBytes(deadBytes: number): Finding[] {
  if (deadBytes === 0) return [];
  return [
    makeFinding('dead-bytes', {
      where: '/buffers/0',
      message: `${deadBytes} bytes of images are no longer shown, and stay because an unknown extension might read them.`,
      seen: deadBytes,
    }),
  ];
}
