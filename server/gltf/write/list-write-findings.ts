import { judgeDetail } from '../../core/delivery/divide-by-detail-mean.ts';
import type { Wear } from '../../core/delivery/find-wear.ts';
import { judgeNormals, type NormalsApart } from '../../core/delivery/judge-normals.ts';
import { judgeWear } from '../../core/delivery/judge-wear.ts';
import type { PlannedResult } from '../../core/delivery/mapping-plan.ts';
import { missedDegrees } from '../../core/delivery/repeat-transform.ts';
import { type Finding, makeFinding } from '../../core/product/finding.ts';
import { readNormalKeep } from '../../core/product/slot.ts';
import type { NeutralDetail } from '../../core/product/survey.ts';
import { count } from '../../core/texts/format-text.ts';
import type { KitItem } from '../materials/finish-material.ts';
import type { PartAlpha } from '../materials/read-alphas.ts';
import { listAnisotropyDropped } from './list-anisotropy-dropped.ts';

type FinishResult = Extract<PlannedResult, { kind: 'finish' }>;

/** What writing could not carry over, grouped by slot. */
export function listWriteFindings(
  results: readonly FinishResult[],
  items: readonly KitItem[],
  alphas: ReadonlyMap<number, PartAlpha>,
  apart: readonly NormalsApart[],
  deadBytes: number,
): Finding[] {
  return [
    ...listDropped(results, items),
    ...listLeftOff(results, items),
    ...listMissedDirections(results, items),
    ...judgeNormals(apart),
    ...listDetail(results, items),
    ...listAnisotropyDropped(results, items),
    ...listWear(results, items),
    ...listAlphaFindings(alphas),
    ...listDead(deadBytes),
  ];
}

/** What finishes and the detail maps of a slot do to each other, each slot and finish once. */
function listDetail(results: readonly FinishResult[], items: readonly KitItem[]): Finding[] {
  const groups = new Map<string, { slot: FinishResult['slot']; finish: KitItem['finish']; details: NeutralDetail[] }>();
  results.forEach(({ slot, detail }, index) => {
    if (!detail) return;
    const { name, finish } = items[index]!;
    const group = groups.get(name);
    if (group) group.details.push(detail);
    else groups.set(name, { slot, finish, details: [detail] });
  });
  return [...groups.values()].flatMap(({ slot, finish, details }) => judgeDetail(slot, finish, details));
}

/** What finishes cannot take over of the wear of a slot, each slot and finish once. */
function listWear(results: readonly FinishResult[], items: readonly KitItem[]): Finding[] {
  const groups = new Map<string, { slot: FinishResult['slot']; finish: KitItem['finish']; wears: Wear[] }>();
  results.forEach(({ slot, wear }, index) => {
    if (!wear) return;
    const { name, finish } = items[index]!;
    const group = groups.get(name);
    if (group) group.wears.push(wear);
    else groups.set(name, { slot, finish, wears: [wear] });
  });
  return [...groups.values()].flatMap(({ slot, finish, wears }) => judgeWear(slot, finish, wears));
}

/** One finding per slot for maps of finishes that could not be laid. */
function listDropped(results: readonly FinishResult[], items: readonly KitItem[]): Finding[] {
  const bySlot = new Map<string, { finishes: Set<string>; noUv: boolean }>();
  results.forEach((result, index) => {
    const item = items[index]!;
    const maps = Object.entries(item.finish.maps).filter(([, sha256]) => sha256);
    const dropped = item.lay === null ? maps.length > 0 : maps.some(([use]) => isDropped(use, result, item));
    if (!dropped) return;
    const entry = bySlot.get(result.slot.slot) ?? { finishes: new Set(), noUv: item.lay === null };
    entry.finishes.add(item.finish.finish);
    bySlot.set(result.slot.slot, entry);
  });
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

/** A direction missed by less is not seen. Judgement. */
const SEEN_DEGREES = 1;

/** One finding per slot for finishes whose oblong repeat cannot lie in the direction asked for. */
function listMissedDirections(results: readonly FinishResult[], items: readonly KitItem[]): Finding[] {
  const bySlot = new Map<string, { slot: FinishResult['slot']; finishes: Set<string>; degrees: number }>();
  results.forEach(({ slot }, index) => {
    const { finish, lay, grainDegrees } = items[index]!;
    if (!lay || !finish.tile) return;
    const degrees = missedDegrees(finish.tile, lay, grainDegrees);
    if (degrees <= SEEN_DEGREES) return;
    const entry = bySlot.get(slot.slot) ?? { slot, finishes: new Set(), degrees: 0 };
    entry.finishes.add(finish.finish);
    entry.degrees = Math.max(entry.degrees, degrees);
    bySlot.set(slot.slot, entry);
  });
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

/** One finding per slot for maps of the part that could not stay. */
function listLeftOff(results: readonly FinishResult[], items: readonly KitItem[]): Finding[] {
  const bySlot = new Map<string, { slot: FinishResult['slot']; maps: Set<string> }>();
  results.forEach(({ slot }, index) => {
    const { leftOff = [] } = items[index]!;
    if (leftOff.length === 0) return;
    const told = bySlot.get(slot.slot) ?? { slot, maps: new Set() };
    bySlot.set(slot.slot, told);
    for (const map of leftOff) told.maps.add(map);
  });
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

/** Normals that were to be combined with the part's and were not have a finding of their own. */
function isDropped(use: string, { slot }: FinishResult, { without }: KitItem): boolean {
  return without.has(use as never) && (use !== 'normal' || readNormalKeep(slot.keep.normal) === 'part');
}

function listAlphaFindings(alphas: ReadonlyMap<number, PartAlpha>): Finding[] {
  return [...alphas]
    .filter(([, bytes]) => bytes === 'as it is')
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

function listDead(deadBytes: number): Finding[] {
  if (deadBytes === 0) return [];
  return [
    makeFinding('dead-bytes', {
      where: '/buffers/0',
      message: `${deadBytes} bytes of images are no longer shown, and stay because an unknown extension might read them.`,
      seen: deadBytes,
    }),
  ];
}
