import { type Finding, makeFinding } from '../product/finding.ts';
import type { Slot } from '../product/slot.ts';
import type { UvBounds } from '../product/survey.ts';
import { PLACES } from '../texts/format-text.ts';
import { repeatsByUnit, type UvMap } from './repeat-transform.ts';

/** Largest side of a map that combines part and finish, px. Viewers on phones load this size without reducing it. */
export const BAKED_LIMIT_PX = 2048;

/** A density may be lower than a map's own by this factor, because measured UVs are rounded. */
const SLACK = 1.01;
/** UVs up to a thousandth outside come from rounding; the baked map extends its edge there. */
const EDGE = 1e-3;

/** A normal map, and its placement in the part's UVs. */
export interface PlannedNormals {
  readonly widthPx: number;
  readonly heightPx: number;
  readonly lay: UvMap;
  /** Whether it repeats across and down. A finish's map always does. */
  readonly repeats: boolean;
}

/** Why the normals of a part and a finish are not combined. */
export type NotCombined =
  /** The map would have to be larger than `BAKED_LIMIT_PX`. */
  | { readonly why: 'too-fine'; readonly neededPx: number }
  /** The part's UVs leave 0–1, or may do so, and the maps do not repeat with them. */
  | { readonly why: 'beyond-square'; readonly bounds: UvBounds | null }
  /** The part's map uses another UV set than the finish's, which uses TEXCOORD_n. */
  | { readonly why: 'other-uv-set'; readonly texCoord: number }
  /** One of the two is unreadable here, for example KTX2. */
  | { readonly why: 'unreadable'; readonly map: 'part' | 'finish' }
  /** The part's map is turned, and only some of its parts have tangents, so its normals have different frames. */
  | { readonly why: 'tangents-differ' };

/** The size of the combined map. */
interface BakedSize {
  readonly widthPx: number;
  readonly heightPx: number;
  /** Whether it repeats after one UV unit; otherwise its edge is extended. */
  readonly repeats: boolean;
}

/**
 * Plans the combined normal map of a part and a finish. It covers 0–1 of the part's UVs. Its sides are powers of two,
 * with as many texels in each direction as the finer of both maps has on the part. It is correct only while the UVs
 * stay within 0–1, or if both maps repeat with every UV unit.
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

/** Whether UVs are known to stay within 0–1, apart from rounding. */
export function isWithinSquare(bounds: UvBounds | null): boolean {
  return bounds !== null && [...bounds.min, ...bounds.max].every((uv) => uv >= -EDGE && uv <= 1 + EDGE);
}

/** Texels of a map along one UV unit in u, and in v. */
const countAcross = ({ widthPx, heightPx, lay }: PlannedNormals) => Math.hypot(widthPx * lay.a, heightPx * lay.c);
const countDown = ({ widthPx, heightPx, lay }: PlannedNormals) => Math.hypot(widthPx * lay.b, heightPx * lay.d);

/** The next power of two. */
const raise = (px: number) => 2 ** Math.max(0, Math.ceil(Math.log2(px / SLACK)));

/** A finish whose normals could not be combined with its part's, and which of the two maps is used. */
export interface NormalsApart {
  readonly slot: Pick<Slot, 'slot' | 'label'>;
  readonly finish: string;
  readonly kept: 'part' | 'finish';
  readonly reason: NotCombined;
}

/** One finding per slot, reason and used map: the finishes, the obstacle and the remedy. */
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
  // Of several sizes, the largest matters most.
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
