import { type Finding, makeFinding } from '../product/finding.ts';
import type { Slot } from '../product/slot.ts';
import { PLACES } from '../texts/place-titles.ts';
import { BAKED_LIMIT_PX, type NotCombined } from './plan-normals.ts';

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
