import { judgeDetail, judgeWear } from '../../core/delivery/kept-maps.ts';
import type { MappingPlan } from '../../core/delivery/mapping-plan.ts';
import { judgeNormals, type NormalsApart } from '../../core/delivery/plan-normals.ts';
import { missedDegrees } from '../../core/delivery/repeat-transform.ts';
import { type Finding, makeFinding } from '../../core/product/finding.ts';
import { readNormalKeep, type Slot } from '../../core/product/slot.ts';
import type { MeshScale } from '../../core/product/survey.ts';
import { PLACES } from '../../core/texts/format-text.ts';
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

/** The written materials, as findings need them. */
interface WrittenMaterials {
  readonly plan: MappingPlan;
  readonly results: readonly FinishResult[];
  /** One for each finish result, in order. */
  readonly specs: readonly MaterialSpec[];
  readonly overrides: PlanOverrides & { readonly notCombined: readonly NormalsApart[] };
  readonly supplied: SuppliedMaterials;
  /** Bytes that stay although nothing known reads them. */
  readonly deadBytes: number;
}

/** A finish result with its specification, and with the properties that its part keeps. */
interface Item {
  readonly planned: PlannedFinish;
  readonly spec: MaterialSpec;
  readonly part: PartOverrides;
}

/** Reports properties that a delivery could not express, grouped by slot. */
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
    return makeFinding(
      'missing-uv:supplied',
      { slot, finishes: [...codes] },
      {
        where: `slot ${slot}`,
        seen: [...codes],
      },
    );
  });
}

function listOutOfReach({ outOfReach }: SuppliedMaterials): Finding[] {
  return [...outOfReach].map((code) =>
    makeFinding(
      'out-of-reach:supplied',
      { finish: code },
      {
        where: `finish ${code}`,
        seen: code,
      },
    ),
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
    makeFinding(
      'thickness-uneven',
      { slot, meshes: meshes.size, finishes: finishes.size, lowM: low, highM: high },
      {
        where: `slot ${slot}`,
        seen: { finishes: [...finishes], lowMm: low * 1000, highMm: high * 1000 },
        expected: 'one scale for each mesh',
        repairs: [{ repair: 'unshare-mesh', meshes: [...meshes].map((mesh) => `/meshes/${mesh}`) }],
      },
    ),
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
    makeFinding(
      'double-sided-body',
      { slot: label, finishes: finishes.size },
      {
        where: `slot ${slot}`,
        seen: [...finishes],
        expected: 'a closed part, single-sided',
      },
    ),
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
      ? makeFinding(
          'missing-uv:finish-maps',
          { slot, finishes: finishes.size },
          {
            where: `slot ${slot}`,
            seen: [...finishes],
          },
        )
      : makeFinding(
          'finish-map-dropped',
          { slot, finishes: finishes.size },
          {
            where: `slot ${slot}`,
            seen: [...finishes],
          },
        ),
  );
}

/** Normal maps that could not be combined have a finding of their own. */
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
    makeFinding(
      'missing-uv:own-maps',
      { slot: slot.label, maps: [...maps] },
      {
        where: `slot ${slot.slot}`,
        place: PLACES.slot(slot.label),
        seen: [...maps],
        expected: [],
      },
    ),
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
    makeFinding(
      'direction-missed',
      { slot: slot.label, finishes: finishes.size, degrees },
      {
        where: `slot ${slot.slot}`,
        place: PLACES.slot(slot.label),
        seen: { finishes: [...finishes], degrees },
        expected: { degrees: 0 },
      },
    ),
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
    makeFinding(
      'anisotropy-dropped',
      { slot, finishes: finishes.size },
      {
        where: `slot ${slot}`,
        seen: [...finishes],
        expected: 'tangents, or a normal map',
      },
    ),
  );
}

function listAlphaFindings(alphaMaps: ReadonlyMap<number, AlphaMap>): Finding[] {
  return [...alphaMaps]
    .filter(([, map]) => map === 'unchanged')
    .map(([texture]) =>
      makeFinding(
        'alpha-in-colour-map:whole',
        {},
        {
          where: `/textures/${texture}`,
        },
        'warning',
      ),
    );
}

function listDeadBytes(deadBytes: number): Finding[] {
  if (deadBytes === 0) return [];
  return [
    makeFinding(
      'dead-bytes:kept',
      { bytes: deadBytes },
      {
        where: '/buffers/0',
        seen: deadBytes,
      },
    ),
  ];
}
