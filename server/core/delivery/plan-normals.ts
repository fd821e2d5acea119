import { type Finding, makeFinding } from '../product/finding.ts';
import type { Slot } from '../product/slot.ts';
import type { UvBounds } from '../product/survey.ts';
import { PLACES } from '../texts/format-text.ts';
import { repeatsByUnit, type UvMap } from './repeat-transform.ts';

/** Longest side of a map that part and finish are baked into, px: up to this, viewers on telephones take it as it is. */
export const BAKED_LIMIT_PX = 2048;

/** A density may fall short of a map's own by so much: what UVs are measured by is rounded. */
const SLACK = 1.01;
/** UVs a thousandth outside come from rounding; the baked map holds its edge there. */
const EDGE = 1e-3;

/** A normal map, and how it lies in the UVs of the part. */
export interface PlannedNormals {
  readonly widthPx: number;
  readonly heightPx: number;
  readonly lay: UvMap;
  /** Whether it repeats across and down; a finish's always does. */
  readonly repeats: boolean;
}

/** Why normals of a part and of a finish are not combined. */
export type NotCombined =
  /** The map would have to be larger than `BAKED_LIMIT_PX`. */
  | { readonly why: 'too-fine'; readonly neededPx: number }
  /** The part's UVs leave 0–1, or are not known to stay there, and the maps do not repeat with them. */
  | { readonly why: 'beyond-square'; readonly bounds: UvBounds | null }
  /** The part's map is laid by another set of UVs than the finish's, which is laid by TEXCOORD_n. */
  | { readonly why: 'other-uv-set'; readonly texCoord: number }
  /** One of the two cannot be read here, as KTX2 cannot. */
  | { readonly why: 'unreadable'; readonly map: 'part' | 'finish' }
  /** The part's map is turned, and its parts disagree on what its normals are counted from. */
  | { readonly why: 'tangents-differ' };

/** The map that two come to. */
export interface BakedSize {
  readonly widthPx: number;
  readonly heightPx: number;
  /** Whether it repeats one UV unit further on; else it holds its edge. */
  readonly repeats: boolean;
}

/**
 * Plans the map that a part's normals and a finish's are baked into. It covers 0–1 of the part's UVs, with sides that are
 * powers of two and as many texels as the finer of both has on the part in that direction. It says the whole truth only as
 * long as the UVs stay within 0–1, or both maps repeat with every UV unit.
 */
export function planNormals(
  part: PlannedNormals,
  finish: PlannedNormals,
  bounds: UvBounds | null,
): BakedSize | NotCombined {
  const repeats = part.repeats && repeatsByUnit(part.lay) && repeatsByUnit(finish.lay);
  if (!isWithinSquare(bounds) && !repeats) return { why: 'beyond-square', bounds };
  const widthPx = raise(Math.max(countAcross(part), countAcross(finish)));
  const heightPx = raise(Math.max(countDown(part), countDown(finish)));
  const neededPx = Math.max(widthPx, heightPx);
  if (!(neededPx <= BAKED_LIMIT_PX)) return { why: 'too-fine', neededPx };
  return { widthPx, heightPx, repeats };
}

/** Whether UVs are known to stay within 0–1, rounding aside. */
export function isWithinSquare(bounds: UvBounds | null): boolean {
  return bounds !== null && [...bounds.min, ...bounds.max].every((uv) => uv >= -EDGE && uv <= 1 + EDGE);
}

/** Texels of a map along one UV unit in u, and in v. */
const countAcross = ({ widthPx, heightPx, lay }: PlannedNormals) => Math.hypot(widthPx * lay.a, heightPx * lay.c);
const countDown = ({ widthPx, heightPx, lay }: PlannedNormals) => Math.hypot(widthPx * lay.b, heightPx * lay.d);

/** The next power of two. */
const raise = (px: number) => 2 ** Math.max(0, Math.ceil(Math.log2(px / SLACK)));

/** A finish whose normals a slot would have combined with its part's, and which of the two lies there instead. */
export interface NormalsApart {
  readonly slot: Pick<Slot, 'slot' | 'label'>;
  readonly finish: string;
  readonly kept: 'part' | 'finish';
  readonly reason: NotCombined;
}

/** One finding for each slot, reason and map that is kept: which finishes, what stood against it, what would settle it. */
export function judgeNormals(apart: readonly NormalsApart[]): Finding[] {
  const groups = new Map<string, NormalsApart[]>();
  for (const item of apart) {
    const key = JSON.stringify([
      item.slot.slot,
      item.kept,
      item.reason.why,
      item.reason.why === 'unreadable' && item.reason.map,
    ]);
    const group = groups.get(key);
    if (group) group.push(item);
    else groups.set(key, [item]);
  }
  return [...groups.values()].map(toFinding);
}

function toFinding(group: readonly NormalsApart[]): Finding {
  const { slot, kept } = group[0]!;
  const finishes = [...new Set(group.map(({ finish }) => finish))];
  // of several sizes the largest says most
  const reason = group.map((item) => item.reason).reduce((worst, next) => (needs(next) > needs(worst) ? next : worst));
  const figures = reason.why === 'too-fine' ? { ...reason, limitPx: BAKED_LIMIT_PX } : reason;
  return makeFinding(
    'normals-not-combined',
    { slot: slot.label, finishes: finishes.length, keeps: kept, reason: figures },
    {
      where: `slot ${slot.slot}`,
      place: PLACES.slotInFinishes(slot.label, finishes),
      seen: { finishes, kept, ...reason },
      expected: describeExpected(reason),
    },
  );
}

const needs = (reason: NotCombined) => (reason.why === 'too-fine' ? reason.neededPx : 0);

function describeExpected(reason: NotCombined): string {
  switch (reason.why) {
    case 'too-fine':
      return `${BAKED_LIMIT_PX} px or less`;
    case 'beyond-square':
      return 'UVs between 0 and 1';
    case 'other-uv-set':
      return `TEXCOORD_${reason.texCoord}`;
    case 'unreadable':
      return 'PNG, JPEG or WebP';
    case 'tangents-differ':
      return 'tangents on all primitives of the material, or on none';
  }
}
